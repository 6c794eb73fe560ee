//! Taking connections: each may take so long to ask, and all end when the
//! program is asked to stop.

use axum::Router;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinSet;

/// How long a request's first lines may take to arrive, and how long a
/// connection on which nothing is asked stays open.
pub const HEADERS_WITHIN: Duration = Duration::from_secs(10);
/// How long a part of a form or file may take to arrive after the one before.
pub const BODY_GOES_ON_WITHIN: Duration = Duration::from_secs(15);
/// How long requests under way may take to end once the program is asked to stop.
const LONGEST_GOODBYE: Duration = Duration::from_secs(3);
/// How long no connection is taken after one that the system refused, as when
/// too many are open.
const PAUSE: Duration = Duration::from_millis(200);

/// Serves pages until `stop` ends; then takes no more, lets answers under way
/// end, and cuts off what has not ended by then.
pub async fn serve(listener: TcpListener, pages: Router, stop: impl Future<Output = ()>) {
    serve_within(listener, pages, stop, LONGEST_GOODBYE).await;
}

async fn serve_within(listener: TcpListener, pages: Router, stop: impl Future<Output = ()>, goodbye: Duration) {
    let mut http = hyper::server::conn::http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEADERS_WITHIN);
    let graceful = GracefulShutdown::new();
    let mut connections = JoinSet::new();
    tokio::pin!(stop);
    loop {
        tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => {
                    let answered = graceful.watch(http.serve_connection(over(stream), TowerToHyperService::new(pages.clone())));
                    // A connection that breaks off is its browser's affair.
                    connections.spawn(async move { drop(answered.await) });
                }
                Err(error) => {
                    tracing::warn!(%error, "a connection could not be taken");
                    tokio::time::sleep(PAUSE).await;
                }
            },
            Some(_) = connections.join_next() => {}
        }
    }
    drop(listener);
    if tokio::time::timeout(goodbye, graceful.shutdown()).await.is_err() {
        tracing::warn!("requests that did not end in time were cut off");
    }
    connections.shutdown().await;
}

fn over(stream: TcpStream) -> TokioIo<TcpStream> {
    // Small answers should not wait for more; where the system will not, they do.
    let _ = stream.set_nodelay(true);
    TokioIo::new(stream)
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::routing::{get, post};
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::sync::{Notify, oneshot};

    /// Serves a page that never answers, one that takes a form in, and one that answers.
    async fn served(goodbye: Duration) -> (std::net::SocketAddr, oneshot::Sender<()>, tokio::task::JoinHandle<()>) {
        let pages = Router::new()
            .route("/never", get(|| async { Notify::new().notified().await }))
            .route("/form", post(|body: String| async move { body.len().to_string() }))
            .route("/page", get(|| async { "here" }));
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (stop, stopped) = oneshot::channel();
        let ended = tokio::spawn(serve_within(listener, pages, async { drop(stopped.await) }, goodbye));
        (address, stop, ended)
    }

    #[tokio::test]
    async fn an_open_upload_an_idle_line_and_an_answer_that_never_comes_do_not_keep_it_from_ending() {
        let (address, stop, ended) = served(Duration::from_millis(50)).await;
        let mut lines = Vec::new();
        for begun in [
            "POST /form HTTP/1.1\r\nhost: x\r\ncontent-length: 1000\r\n\r\nhalf",
            "GET /page HTTP/1.1\r\nhost: x\r\n\r\n",
            "GET /never HTTP/1.1\r\nhost: x\r\n\r\n",
            "GET /pa",
        ] {
            let mut line = TcpStream::connect(address).await.unwrap();
            line.write_all(begun.as_bytes()).await.unwrap();
            lines.push(line);
        }
        let mut first = [0; 12];
        lines[1].read_exact(&mut first).await.unwrap();
        assert_eq!(&first, b"HTTP/1.1 200", "it serves");
        stop.send(()).unwrap();
        ended.await.unwrap();
        for line in &mut lines {
            // Cut off or closed: nobody is left waiting.
            let _ = line.read_to_end(&mut Vec::new()).await;
        }
    }

    #[tokio::test(start_paused = true)]
    async fn whoever_sends_headers_one_by_one_is_cut_off() {
        let (address, _stop, _ended) = served(LONGEST_GOODBYE).await;
        let mut line = TcpStream::connect(address).await.unwrap();
        line.write_all(b"GET /page HTTP/1.1\r\nhost: x\r\n").await.unwrap();
        // The clock goes on by itself as soon as everybody waits.
        let mut said = String::new();
        tokio::time::timeout(10 * HEADERS_WITHIN, line.read_to_string(&mut said)).await.unwrap().unwrap();
        assert!(!said.contains("200"), "{said}");
    }
}
