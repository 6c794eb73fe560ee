//! What stands beside a picture has limits too: in time, in memory, and in what is kept.

mod bombs;

use bombs::{
    chunk, jpeg_profile, jpeg_with, plain_png, png_with, png_with_profile, png_with_texts, profile_of_many_names, webp_of, webp_part,
    webp_with, zeros,
};
use photo::{PhotoFault, open_photo, stripped};
use std::process::Command;

/// The most that opening and stripping may raise what a process holds, in MB. The
/// pictures here take less than one.
const MOST_MB: u64 = 64;

fn refused(bytes: &[u8]) -> String {
    let (opened, kept) = (open_photo(bytes).map(|_| ()), stripped(bytes).map(|_| ()));
    assert_eq!(opened, kept);
    kept.expect_err("it must be refused").to_string()
}

/// What the operating system says that this process held at most, in kB.
fn most_held() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    status.lines().find_map(|line| line.strip_prefix("VmHWM:")).and_then(|rest| rest.split_whitespace().next()).unwrap().parse().unwrap()
}

/// Opens and strips one file in a process of its own and says how much that took.
#[test]
#[ignore = "the process whose memory the test below measures"]
fn victim_that_opens_one_file() {
    let bytes = std::fs::read(std::env::var("STRANDWRIGHT_TEST_PHOTO").unwrap()).unwrap();
    let before = most_held();
    let said = [
        open_photo(&bytes).map_or_else(|fault| fault.to_string(), |_| "opened".into()),
        stripped(&bytes).map_or_else(|fault| fault.to_string(), |_| "kept".into()),
    ];
    println!("took {} {said:?}", (most_held() - before) / 1024);
}

/// How many MB opening and stripping take, and what was said.
fn taken(bytes: &[u8]) -> (u64, String) {
    let file = std::env::temp_dir().join(format!("strandwright-limits-{}-{}", std::process::id(), bytes.len()));
    std::fs::write(&file, bytes).unwrap();
    let output = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "victim_that_opens_one_file", "--ignored", "--nocapture"])
        .env("STRANDWRIGHT_TEST_PHOTO", &file)
        .output()
        .unwrap();
    std::fs::remove_file(&file).unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let (_, told) = text.split_once("took ").unwrap_or_else(|| panic!("{text}{}", String::from_utf8_lossy(&output.stderr)));
    let (taken, said) = told.split_once(' ').unwrap();
    (taken.parse().unwrap(), said.lines().next().unwrap_or_default().to_owned())
}

/// The files themselves are what they are said to be: another reader unpacks them.
#[test]
fn the_zeros_unpack_to_what_is_asked_for() {
    for bytes in [1 + 258, 1 + 258 * 7, 1 + 258 * 4001] {
        let png = png_with_texts(&zeros(bytes));
        let reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().unwrap();
        let (text, packed) = (&reader.info().compressed_latin1_text, &reader.info().utf8_text);
        assert_eq!([text[0].get_text().unwrap().len(), packed[0].get_text().unwrap().len()], [bytes; 2]);
    }
}

#[test]
fn what_unpacks_to_a_gigabyte_takes_little_memory() {
    let gigabyte = zeros(1_000_000_000);
    assert!(gigabyte.len() < 1_000_000);
    let turned = chunk(b"eXIf", b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0");
    let profile = chunk(b"iCCP", &[b"p\0\0", gigabyte.as_slice()].concat());
    for (name, bytes, says) in [
        ("a profile", png_with_profile(&gigabyte), "unpacks to more than 4 MB"),
        ("a profile of a picture that lies", png_with(&[turned, profile]), "unpacks to more than 4 MB"),
        ("texts", png_with_texts(&gigabyte), "[\"opened\", \"kept\"]"),
        ("names", png_with_profile_of(&profile_of_many_names(40_000, 100_000)), "[\"opened\", \"kept\"]"),
    ] {
        let (megabytes, said) = taken(&bytes);
        assert!(said.contains(says), "{name}: {said}");
        assert!(megabytes < MOST_MB, "{name}: {megabytes} MB, {said}");
    }
}

/// A PNG with a profile, packed as it should be.
fn png_with_profile_of(profile: &[u8]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::png::PngEncoder::new(&mut bytes);
    image::ImageEncoder::set_icc_profile(&mut encoder, profile.to_vec()).unwrap();
    let plain = open_photo(&plain_png()).unwrap();
    image::ImageEncoder::write_image(encoder, plain.rgb_bytes(), bombs::SIDES.0, bombs::SIDES.1, image::ExtendedColorType::Rgb8).unwrap();
    bytes
}

#[test]
fn a_profile_larger_than_four_megabytes_is_refused_in_every_format() {
    let most = 4_000_000;
    let large = vec![7; most + 1];
    assert!(refused(&png_with_profile(&large)).contains("more than 4 MB"));
    assert!(refused(&png_with_profile(&zeros(most + 259))).contains("more than 4 MB"));
    assert!(refused(&webp_with(0x20, &webp_part(b"ICCP", &large), &[])).contains("more than 4 MB"));
    let parts = jpeg_profile(&large, large.len().div_ceil(65_519) as u8);
    assert!(refused(&jpeg_with(&parts)).contains("more than 4 MB"));
    for says in [refused(&jpeg_with(&parts)), refused(&png_with_profile(&large))] {
        assert!(says.contains("save the photo as sRGB"), "{says}");
    }
}

/// Read without its profile a photo has other colours than it says.
#[test]
fn a_profile_that_cannot_be_had_whole_is_refused_and_never_forgotten() {
    let profile = profile_of_many_names(1, 10);
    let whole = jpeg_profile(&[profile.as_slice(), &[0; 70_000]].concat(), 2);
    assert!(open_photo(&jpeg_with(&whole)).is_ok());
    assert!(refused(&jpeg_with(&whole[..1])).contains("not whole"));
    assert!(refused(&jpeg_with(&[whole[0].clone(), whole[0].clone()])).contains("not whole"));
    assert!(refused(&png_with_profile(b"no stream at all")).contains("not whole"));
    assert!(open_photo(&png_with_profile_of(&profile)).is_ok());
    assert!(open_photo(&webp_with(0x20, &webp_part(b"ICCP", &profile), &[])).is_ok());
    let mut beyond = webp_with(0x20, &[], &webp_part(b"ICCP", &profile));
    let at = beyond.len() - profile.len() - profile.len() % 2 - 4;
    beyond[at..at + 4].copy_from_slice(&3_000_000_u32.to_le_bytes());
    assert!(refused(&beyond).contains("beyond its end"));
    beyond[at..at + 4].copy_from_slice(&4_000_000_000_u32.to_le_bytes());
    assert!(refused(&beyond).contains("more than 4 MB"));
}

#[test]
fn of_several_profiles_only_the_one_that_counts_is_kept() {
    let profile = png_with_profile_of(&profile_of_many_names(1, 10));
    let second = chunk(b"iCCP", &[b"p\0\0", zeros(50_000_000).as_slice()].concat());
    let at = profile.windows(4).position(|kind| kind == b"IDAT").unwrap() - 4;
    let end = profile.len() - 12;
    let chatty = [&profile[..at], &second, &profile[at..end], &second, &profile[end..]].concat();
    assert!(stripped(&chatty).unwrap() == profile);
    let one = webp_with(0x20, &webp_part(b"ICCP", &profile_of_many_names(1, 10)), &[]);
    let two = webp_with(0x20, &webp_part(b"ICCP", &profile_of_many_names(1, 10)), &webp_part(b"ICCP", &[7; 1000]));
    assert!(stripped(&two).unwrap() == one);
}

#[test]
fn a_frame_larger_than_its_file_says_is_refused_before_it_is_drawn() {
    // The heading of a whole frame of 16,383 x 16,383. *Source*: key `rfc6386`,
    // section 9.1.
    let frame = webp_part(b"VP8 ", &[0x10, 0, 0, 0x9d, 0x01, 0x2a, 0xff, 0x3f, 0xff, 0x3f, 0, 0]);
    let fault = open_photo(&webp_of(0, &frame)).map(|_| ()).unwrap_err();
    assert_eq!(fault, PhotoFault::TooLarge { width: 16_383, height: 16_383 });
    let moving = webp_part(b"ANMF", &[&[0; 16][..], &frame].concat());
    let fault = open_photo(&webp_of(0x02, &[webp_part(b"ANIM", &[0; 6]), moving].concat())).map(|_| ()).unwrap_err();
    assert_eq!(fault, PhotoFault::TooLarge { width: 16_383, height: 16_383 });
}

#[test]
fn a_jpeg_of_very_many_parts_is_refused() {
    let parts = |count: usize| jpeg_with(&vec![(0xe1, b"http://ns.adobe.com/xap/1.0/\0".to_vec()); count]);
    assert!(open_photo(&parts(900)).is_ok());
    assert!(refused(&parts(1001)).contains("more than 1000 parts"));
}
