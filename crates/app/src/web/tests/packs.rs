//! Packs and their labels: from the page that prints them back to the piece.

use super::asking::Asking;
use axum::body::Body;
use axum::http::Method;

const PACKS: [(&str, &str); 6] =
    [("shade", "S06"), ("length_mm", "500"), ("lot", "W-114"), ("supplier", "north"), ("pieces", "3"), ("packs", "2")];

#[tokio::test]
async fn a_packs_label_leads_to_each_of_its_pieces() {
    let asking = Asking::new().await;
    assert!(asking.get("/shelf/packs").await.1.contains("No pack has come in yet"));
    assert_eq!(asking.post("/shelf/receive", &PACKS).await.0, 303);
    let (_, all) = asking.get("/shelf/packs").await;
    assert!(all.contains("lot W-114, 6 pieces from north") && all.contains("6 of 6 on the shelf") && all.contains("2 labels"), "{all}");
    let sheet = asking.send("/shelf/labels", &[("pack", "1"), ("used", "2")]).await;
    assert_eq!((sheet.status.as_u16(), sheet.header("content-type")), (200, "application/pdf"));
    assert!(sheet.bytes.starts_with(b"%PDF-"));

    // What a reader types, then a piece's own number.
    let read = asking.send("/shelf/read", &[("code", "http://127.0.0.1:8686/shelf/packs/1")]).await;
    assert_eq!((read.status.as_u16(), read.header("location")), (303, "/shelf/packs/1"));
    let (_, pack) = asking.get("/shelf/packs/1").await;
    let pieces: Vec<&str> = pack.split("/pieces/").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert_eq!(pieces.len(), 6, "{pack}");
    let read = asking.send("/shelf/read", &[("code", pieces[5])]).await;
    assert_eq!(read.header("location"), format!("/pieces/{}", pieces[5]));
    assert!(asking.get(read.header("location")).await.1.contains("came in from north, lot W-114"));

    // Half of the lot was counted away: the others are not called there.
    let count = [("shade", "S06"), ("length_mm", "500"), ("lot", "W-114"), ("pieces", "2"), ("reason", "lost in a move")];
    assert_eq!(asking.post("/shelf/count", &count).await.0, 303);
    let (_, pack) = asking.get("/shelf/packs/1").await;
    assert!(pack.contains("2 of 6 on the shelf") && pack.matches("missing when counted").count() == 4, "{pack}");
}

#[tokio::test]
async fn what_is_no_label_is_said_and_stays_typed() {
    let asking = Asking::new().await;
    assert_eq!(asking.post("/shelf/receive", &PACKS).await.0, 303);
    let (status, page) = asking.post("/shelf/read", &[("code", "half a <b>code")]).await;
    assert!(status == 422 && page.contains("half a &#60;b&#62;code") && page.contains("no label of this salon"), "{page}");
    for (pairs, says) in [
        (&[("used", "0")][..], "Tick the packs"),
        (&[("pack", "1"), ("used", "24")], "a whole number from 0 to 23"),
        (&[("pack", "1"), ("used", "some")], "a whole number from 0 to 23"),
    ] {
        let (status, page) = asking.post("/shelf/labels", pairs).await;
        assert!(status == 422 && page.contains(says), "{page}");
    }
    let many = [("shade", "S07"), ("length_mm", "500"), ("lot", "W-115"), ("supplier", "north"), ("pieces", "1"), ("packs", "97")];
    assert_eq!(asking.post("/shelf/receive", &many).await.0, 303);
    let (status, page) = asking.post("/shelf/labels", &[("pack", "2")]).await;
    assert!(status == 422 && page.contains("More than 96 labels"), "{page}");
    for path in ["/shelf/packs/3", "/shelf/packs/0", "/shelf/packs/-1"] {
        assert!(asking.get(path).await.0 == 404, "{path}");
    }
    assert_eq!(asking.send("/shelf/labels", &[("pack", "3")]).await.status.as_u16(), 404);
    assert_eq!(asking.ask(Method::GET, "/shelf/labels", "", Body::empty()).await.status.as_u16(), 405);
}
