//! Colour in the browser: from a photo of the ends to whole pieces of shades,
//! and the ring they are chosen from.

mod against_view;
mod beside_view;
mod camera;
mod flaw_view;
mod instrument;
pub mod kept;
mod mark_corners;
pub mod marks;
mod match_view;
mod mixes_view;
mod of_a_photo;
mod outline;
pub mod phones;
mod phones_page;
mod reading;
mod reading_view;
mod ring;
mod ring_files;
mod ring_photo;
mod start;
mod swatches_view;
pub mod upload;
mod words;

use crate::web::frame::routes::Pages;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// The pages of colour. Photos may be larger than anything else that is sent.
pub fn routes() -> Pages {
    let photos = || DefaultBodyLimit::max(upload::MOST_PHOTO_BYTES);
    Pages::new()
        .route("/clients/{id}/colour", get(start::show))
        .route("/clients/{id}/colour/photo", post(start::take_photo).layer(photos()))
        .route("/clients/{id}/colour/instrument", post(instrument::take_file))
        .route("/clients/{id}/colour/sample", post(instrument::take_sample))
        .route("/clients/{id}/colour/eye", post(start::by_eye))
        .route("/clients/{id}/colour/camera", get(camera::of_ends))
        .route("/readings/{id}/camera", get(camera::of_second_light))
        .route("/settings/ring/camera", get(camera::of_ring))
        .route("/camera/look", post(camera::look).layer(DefaultBodyLimit::max(camera::MOST_FRAME_BYTES)))
        .route("/photos/{id}", get(marks::show).post(marks::read))
        .route("/photos/{id}/chart", get(marks::chart_there))
        .route("/photos/{id}/picture", get(marks::picture))
        .route("/photos/{id}/remove", post(marks::remove))
        .route("/photos/{id}/measured", get(ring_photo::measured).post(ring_photo::keep))
        .route("/photos/{id}/phone", post(phones::say_phone))
        .route("/photos/{id}/measured/beside", post(ring_photo::keep_beside))
        .route("/readings/{id}/against", post(phones::match_against))
        .route("/settings/phones", get(phones_page::show).post(phones_page::mend))
        .route("/readings/{id}", get(reading::show))
        .route("/readings/{id}/patch.png", get(reading::patch))
        .route("/readings/{id}/marks.json", get(reading::marks_file))
        .route("/readings/{id}/use", post(reading::use_it))
        .route("/readings/{id}/light", post(reading::second_light).layer(photos()))
        .route("/settings/ring", get(ring::show).post(ring::keep))
        .route("/settings/ring/remove", post(ring::remove))
        .route("/settings/ring/import", post(ring_files::import))
        .route("/settings/ring/photo", post(ring_photo::take).layer(photos()))
        .route("/settings/ring.json", get(ring_files::as_json))
        .route("/settings/ring.csv", get(ring_files::as_csv))
}
