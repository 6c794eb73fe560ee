//! A form as it comes in: whose page it was sent from, and what was typed.

use super::form::Typed;
use crate::web::AppState;
use crate::web::frame::page::Trouble;
use axum::Form;
use axum::extract::{FromRequest, FromRequestParts, Path, Request};
use axum::response::{IntoResponse, Response};
use desk::ClientId;
use salon::book::VisitId;

/// The name in the address, and what was typed.
async fn sent(request: Request, app: &AppState) -> Result<(String, Typed), Response> {
    let (mut parts, body) = request.into_parts();
    let Path(name) = Path::<String>::from_request_parts(&mut parts, app).await.map_err(IntoResponse::into_response)?;
    let form = Form::<Vec<(String, String)>>::from_request(Request::from_parts(parts, body), app).await;
    let Form(pairs) = form.map_err(IntoResponse::into_response)?;
    Ok((name, Typed::posted(pairs)))
}

/// A form of a client who is there.
pub struct OfClient(pub ClientId, pub Typed);

impl FromRequest<AppState> for OfClient {
    type Rejection = Response;

    async fn from_request(request: Request, app: &AppState) -> Result<Self, Response> {
        let (name, typed) = sent(request, app).await?;
        let there = async {
            let id: ClientId = name.parse()?;
            app.salon.book_of(id).await?;
            Ok(id)
        };
        there.await.map(|id| Self(id, typed)).map_err(|trouble: Trouble| trouble.into_response())
    }
}

/// A form of a visit that there is.
pub struct OfVisit(pub VisitId, pub Typed);

impl FromRequest<AppState> for OfVisit {
    type Rejection = Response;

    async fn from_request(request: Request, app: &AppState) -> Result<Self, Response> {
        let (name, typed) = sent(request, app).await?;
        let there = async {
            let id: VisitId = name.parse()?;
            app.salon.book_of_visit(id).await?;
            Ok(id)
        };
        there.await.map(|id| Self(id, typed)).map_err(|trouble: Trouble| trouble.into_response())
    }
}
