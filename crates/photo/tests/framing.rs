//! What is said of a picture while it is framed, and where its faults are drawn.
//!
//! The photographs are the made ones of `reading.rs`, with faults painted in.

use image::imageops::{FilterType, resize};
use image::{ExtendedColorType, ImageEncoder, Rgb, RgbImage, codecs::png::PngEncoder};
use photo::open_photo;
use reading::{Framing, Marks, Picture, Place, ReadFault, chart_at, find_chart, flaws, flaws_of_refusal, framing, read};

const E06: &[u8] = include_bytes!("data/e06.jpg");
const CHART: [[f64; 2]; 4] = [[60.55, 202.9], [378.86, 224.23], [366.86, 439.69], [41.5, 416.85]];
const HAIR: [[f64; 2]; 4] = [[512.36, 68.36], [693.86, 76.56], [653.22, 528.76], [477.42, 523.64]];

fn e06() -> RgbImage {
    let photo = open_photo(E06).unwrap();
    let (w, h) = photo.size();
    RgbImage::from_raw(w as u32, h as u32, photo.rgb_bytes().to_vec()).unwrap()
}

fn opened(picture: &RgbImage) -> Picture {
    let mut png = Vec::new();
    PngEncoder::new(&mut png).write_image(picture, picture.width(), picture.height(), ExtendedColorType::Rgb8).unwrap();
    open_photo(&png).unwrap()
}

/// The picture with every pixel's light changed by a factor that depends on its place.
fn lit(mut picture: RgbImage, factor: impl Fn(f64, f64) -> f64) -> RgbImage {
    let (w, h) = (f64::from(picture.width()), f64::from(picture.height()));
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let by = factor(f64::from(x) / w, f64::from(y) / h);
        pixel.0 = pixel
            .0
            .map(|code| (reading::linear_to_srgb((reading::srgb_to_linear(f64::from(code) / 255.0) * by).min(1.0)) * 255.0).round() as u8);
    }
    picture
}

fn framed(picture: &RgbImage) -> Framing {
    let small = resize(picture, 640, 480, FilterType::Triangle);
    framing(&opened(&small), 3.0, |_| HAIR.map(|p| p.map(|v| v * 0.8)))
}

fn marks() -> Marks {
    Marks { chart_corners: CHART, hair: HAIR.to_vec(), strands: None, leave_out: Vec::new() }
}

#[test]
fn a_good_picture_is_fit_and_each_fault_is_named_alone() {
    let good = framed(&e06());
    assert!(good.is_fit(), "{good:?}");
    let uneven = framed(&lit(e06(), |x, _| 0.35 + 0.65 * x));
    let [dark, bright] = uneven.light.unwrap_or_else(|| panic!("{uneven:?}"));
    assert!(bright[0] > dark[0] + 200.0 && uneven.light_range > 1.4, "{uneven:?}");
    let bright = framed(&lit(e06(), |_, _| 1.9));
    assert!(bright.too_bright.contains(&18) && bright.light.is_none(), "{bright:?}");
    let dark = framed(&lit(e06(), |_, _| 0.12));
    assert!(dark.too_dark && dark.too_bright.is_empty(), "{dark:?}");
    let black = framed(&lit(e06(), |_, _| 0.004));
    assert!(black.chart.is_none() && black.too_dark, "{black:?}");
    let mut far = RgbImage::from_pixel(2400, 1800, Rgb([120, 120, 118]));
    image::imageops::overlay(&mut far, &e06(), 700, 500);
    let far = framing(&opened(&resize(&far, 640, 480, FilterType::Triangle)), 1.0, |_| HAIR);
    assert!(far.chart.is_none() || far.too_small, "{far:?}");
    let none = framed(&RgbImage::from_pixel(800, 600, Rgb([120, 120, 118])));
    assert!(none.chart.is_none() && !none.too_dark, "{none:?}");
}

#[test]
fn what_is_small_in_the_frame_may_be_large_in_the_photo() {
    let small = resize(&e06(), 200, 150, FilterType::Triangle);
    let ends = HAIR.map(|p| p.map(|v| v / 4.0));
    let (coarse, fine) = (framing(&opened(&small), 1.0, |_| ends), framing(&opened(&small), 4.0, |_| ends));
    assert!(coarse.chart.is_some() && coarse.too_small && !fine.too_small, "{coarse:?}");
}

#[test]
fn each_warning_of_a_reading_has_its_place_word_by_word() {
    let mut picture = lit(e06(), |x, _| 0.55 + 0.75 * x);
    // Something lies on the green patch, third of the third row.
    for (x, y) in (175..200).flat_map(|x| (338..365).map(move |y| (x, y))) {
        picture.put_pixel(x, y, Rgb([230, 220, 215]));
    }
    // Shine, white as the camera shows it.
    for (x, y) in (500..680).flat_map(|x| (250..300).map(move |y| (x, y))) {
        picture.put_pixel(x, y, Rgb([255, 255, 255]));
    }
    let photo = opened(&picture);
    let reading = read(&photo, &marks()).unwrap();
    let found = flaws(&photo, &marks(), &reading);
    for flaw in &found {
        assert!(reading.warnings.contains(&flaw.says), "{} is none of {:?}", flaw.says, reading.warnings);
    }
    let of = |word: &str| &found.iter().find(|flaw| flaw.says.contains(word)).unwrap_or_else(|| panic!("{word}: {found:?}")).place;
    let Place::Arrow([dark, bright]) = of("light changes") else { panic!("light has an arrow") };
    assert!(bright[0] > dark[0]);
    let Place::Areas(shine) = of("white with shine") else { panic!("shine has areas") };
    assert!(shine.iter().flatten().all(|p| (230.0..330.0).contains(&p[1])), "{shine:?}");
    let Place::Areas(covered) = of("not look like") else { panic!("a patch has an outline") };
    let middle = [0, 1].map(|k| covered[0].iter().map(|p| p[k]).sum::<f64>() / 4.0);
    assert!((middle[0] - 187.0).abs() < 30.0 && (middle[1] - 351.0).abs() < 30.0, "{middle:?}");
}

#[test]
fn a_refusal_is_drawn_where_its_cause_lies() {
    let photo = open_photo(E06).unwrap();
    let over = Marks { hair: vec![[330.0, 200.0], [420.0, 200.0], [420.0, 300.0], [330.0, 300.0]], ..marks() };
    let fault = read(&photo, &over).unwrap_err();
    assert!(matches!(fault, ReadFault::Hair(_)));
    let found = flaws_of_refusal(&photo, &over, &fault);
    let Place::Areas(cells) = &found[0].place else { panic!("patches have outlines") };
    assert!((1..=4).contains(&cells.len()) && found[0].says.starts_with("The outline"), "{found:?}");
    let covered = ReadFault::Covered(vec![0, 1, 6, 7]);
    let Place::Areas(cells) = &flaws_of_refusal(&photo, &marks(), &covered)[0].place else { panic!("patches have outlines") };
    assert_eq!(cells.len(), 4);
    let uneven = opened(&lit(e06(), |x, _| 0.06 + 0.94 * x * x));
    let fault = read(&uneven, &marks()).unwrap_err();
    let found = flaws_of_refusal(&uneven, &marks(), &fault);
    assert!(found.iter().any(|flaw| matches!(flaw.place, Place::Arrow([dark, bright]) if bright[0] > dark[0])), "{fault}: {found:?}");
}

#[test]
fn of_two_charts_the_one_that_is_tapped() {
    let one = e06();
    let mut two = RgbImage::new(800, 1200);
    image::imageops::overlay(&mut two, &one, 0, 0);
    image::imageops::overlay(&mut two, &one, 0, 600);
    let photo = opened(&two);
    assert!(find_chart(&photo).is_some());
    for (x, y) in [(200.0, 320.0), (200.0, 920.0)] {
        let found = chart_at(&photo, [x, y]).unwrap_or_else(|| panic!("no chart at {x}, {y}"));
        let middle = [0, 1].map(|k| found.corners.iter().map(|p| p[k]).sum::<f64>() / 4.0);
        assert!((middle[0] - 212.0).abs() < 15.0 && (middle[1] - y).abs() < 15.0, "{middle:?}");
    }
    assert_eq!(chart_at(&photo, [600.0, 300.0]), None);
}
