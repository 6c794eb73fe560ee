//! The size fitted to people whose calliper sizes are held back.
//!
//! `cargo run --release -p head --example bench_people -- FILE.csv ...`, each
//! with columns `sex,circumference[,ear_to_ear_over_crown],length,breadth[,tragion_to_top]` in mm.

#[path = "shared/people.rs"]
mod people;

fn main() {
    std::env::args().skip(1).for_each(|path| people::table(&path));
}
