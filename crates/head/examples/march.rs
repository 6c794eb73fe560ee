//! Scratch.
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let text = std::fs::read_to_string(&a[1]).unwrap();
    let list = |s: &str| s.split(',').filter(|x| !x.is_empty()).map(|x| x.parse().unwrap()).collect::<Vec<usize>>();
    let t = std::time::Instant::now();
    match head::check_geodesic(&text, &list(&a[2]), &list(a.get(3).map_or("", |s| s))) {
        Ok(d) => println!("{}", d.iter().map(|d| d.to_string()).collect::<Vec<_>>().join("\n")),
        Err(e) => println!("fault: {e}"),
    }
    eprintln!("{:?}", t.elapsed());
}
