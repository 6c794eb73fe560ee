//! Where the marks stand before anyone has moved them.

type Corners = [[f64; 2]; 4];

/// A chart in the middle of a photo in which none was found.
pub fn usual_chart((width, height): (usize, usize)) -> Corners {
    let (w, h) = (width as f64, height as f64);
    // Six patches by four.
    let across = (w * 0.5).min(h * 0.75);
    let down = across * 2.0 / 3.0;
    boxed((w - across) / 2.0, (h - down) / 2.0, across, down)
}

/// Where the chart is asked for before one is found: with room for the hair on the longer side.
pub fn guide_chart((width, height): (usize, usize)) -> Corners {
    let (w, h) = (width as f64, height as f64);
    if w > h {
        let across = (w * 0.5).min(h * 0.9);
        boxed(w * 0.05, (h - across * 2.0 / 3.0) / 2.0, across, across * 2.0 / 3.0)
    } else {
        let across = (w * 0.86).min(h * 0.6);
        boxed((w - across) / 2.0, h * 0.05, across, across * 2.0 / 3.0)
    }
}

/// An outline in the largest free space beside the chart, root side up.
pub fn usual_hair(chart: &Corners, (width, height): (usize, usize)) -> Corners {
    let (w, h) = (width as f64, height as f64);
    let span = |k: usize, most: f64| {
        let low = chart.iter().map(|corner| corner[k]).fold(f64::INFINITY, f64::min).clamp(0.0, most);
        let high = chart.iter().map(|corner| corner[k]).fold(f64::NEG_INFINITY, f64::max).clamp(0.0, most);
        (low, high)
    };
    let ((left, right), (top, bottom)) = (span(0, w), span(1, h));
    let free = [(0.0, 0.0, left, h), (right, 0.0, w - right, h), (0.0, 0.0, w, top), (0.0, bottom, w, h - bottom)];
    let (x, y, wide, high) = free.into_iter().max_by(|p, q| (p.2 * p.3).total_cmp(&(q.2 * q.3))).unwrap_or((0.0, 0.0, w, h));
    boxed(x + wide * 0.3, y + high * 0.2, wide * 0.4, high * 0.6)
}

fn boxed(x: f64, y: f64, wide: f64, high: f64) -> Corners {
    [[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]].map(|corner| corner.map(|v| (v * 10.0).round() / 10.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Wherever the chart is, the first outline is one that may be read.
        #[test]
        fn the_first_outline_lies_beside_the_chart_and_inside_the_photo(
            w in 400_usize..4000, h in 400_usize..4000, x in 0.0..0.5_f64, y in 0.0..0.5_f64, turned in any::<bool>(),
        ) {
            let side = w.min(h) as f64 * 0.4;
            let mut chart = boxed(x * w as f64, y * h as f64, side, side * 0.66);
            if turned { chart.rotate_left(2); }
            let marks = reading::Marks { chart_corners: chart, hair: usual_hair(&chart, (w, h)).to_vec(), strands: None, leave_out: Vec::new() };
            prop_assert!(marks.check(w, h).is_ok(), "{marks:?} {:?}", marks.check(w, h));
        }
    }

    #[test]
    fn what_is_asked_for_while_framing_may_be_read() {
        for size in [(640, 480), (480, 640), (640, 360), (360, 640), (640, 640)] {
            let chart = guide_chart(size);
            let marks =
                reading::Marks { chart_corners: chart, hair: usual_hair(&chart, size).to_vec(), strands: None, leave_out: Vec::new() };
            assert_eq!(marks.check(size.0, size.1), Ok(()), "{size:?}");
        }
    }

    #[test]
    fn a_chart_that_was_not_found_starts_where_it_may_be_read() {
        let size = (900, 1600);
        let chart = usual_chart(size);
        let marks = reading::Marks { chart_corners: chart, hair: usual_hair(&chart, size).to_vec(), strands: None, leave_out: Vec::new() };
        assert_eq!(marks.check(size.0, size.1), Ok(()));
    }
}
