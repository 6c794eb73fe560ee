use super::*;
use measure::real::exp;

/// Hair under one white band at a place, and a second band in its own colour
/// shifted towards the root and `more` times as wide.
fn glossy(at: f64, width: f64, (rise, shift, more): (f64, f64, f64)) -> Vec<Slice> {
    let density = |off: f64, width: f64| exp(-(off / width) * (off / width) / 2.0);
    (0..SLICES)
        .map(|place| {
            let off = place as f64 - at;
            Slice {
                place,
                light: [0.1; 3],
                shine: density(off, width),
                shade: 1.0 + rise * density(off + shift, more * width),
                clipped: 0.0,
            }
        })
        .collect()
}

#[test]
fn noise_does_not_choose_the_slices_that_give_the_colour() {
    let colour = [0.10, 0.06, 0.04];
    let noise = Noise::of_channels([0.0, 0.0, 0.8]);
    let pixels = 1000.0;
    let spread = noise.of_mean(colour, pixels)[2];
    assert!(spread > 0.1 * colour[2], "{spread}");
    let mut state = 5_u64;
    let mut normal = || {
        (0..12).fold(-6.0, |sum, _| {
            state = state.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
            sum + (state >> 40) as f64 / f64::from(1 << 24)
        })
    };
    let mut blue = 0.0;
    for _ in 0..40 {
        let slices: Vec<Slice> = glossy(20.0, 3.0, (0.0, 0.0, 1.0))
            .into_iter()
            .map(|slice| {
                let light = [0, 1, 2].map(|c| colour[c] + 0.2 * slice.shine + if c == 2 { spread * normal() } else { 0.0 });
                Slice { light, shine: 0.0, ..slice }
            })
            .collect();
        let parted = parted(slices, [0.6; 3], &noise, pixels).unwrap().slices;
        let least = parted.iter().map(|slice| slice.shine).fold(f64::INFINITY, f64::min);
        let free: Vec<[f64; 3]> =
            parted.iter().filter(|slice| slice.shine <= least + SHINE_ALLOWED / 2.0).map(|slice| slice.light).collect();
        blue += mean(free.iter()).unwrap()[2] / colour[2] / 40.0;
    }
    // Chosen by its noise, blue would be a quarter too dark.
    assert!((blue - 1.0).abs() < 0.08, "{blue}");
}

#[test]
fn matt_hair_is_found_below_a_second_band_that_ends_beyond_the_tips() {
    for at in [33.0, 35.0, 37.0] {
        let slices = glossy(at, 2.8, (0.8, 3.2, 1.7));
        let found = SecondBand::fit(&slices);
        for slice in slices.iter().filter(|slice| slice.place < 34 && slice.shine < 0.5) {
            let off = found.factors[slice.place] / slice.shade - 1.0;
            assert!(off.abs() < 0.04, "band at {at}, slice {}: {off}", slice.place);
        }
        assert!(found.explained > 0.9, "{}", found.explained);
    }
}
