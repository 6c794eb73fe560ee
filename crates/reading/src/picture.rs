//! The picture as it is handed in: upright pixels and what their codes mean.

use crate::light::Decoding;

/// What the file has done to the codes that the camera wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loss {
    /// Nothing.
    None,
    /// Each may be off by one or two, as in a JPEG of the finest steps.
    Rounded,
    /// Neighbours were evened out, as in a JPEG.
    Smoothed,
}

impl Loss {
    /// Up to this code a pixel counts as black: what the camera cut off at 0 may
    /// lie a little above.
    #[must_use]
    pub fn black(self) -> u8 {
        match self {
            Self::None => 0,
            Self::Rounded => 1,
            Self::Smoothed => 8,
        }
    }
}

/// Codes finer than whole ones, where a file knows them.
pub trait FineCodes: Send + Sync {
    /// Red, green and blue at a pixel in codes and parts of them, beyond the ends
    /// of the scale too; nothing where only whole codes are known.
    fn codes(&self, x: u32, y: u32) -> Option<[f64; 3]>;
}

/// A picture, upright, with what its codes mean.
///
/// ```
/// use reading::{Loss, Picture, srgb_to_linear};
/// let decoding = [std::array::from_fn(|code| srgb_to_linear(code as f64 / 255.0)); 3];
/// let photo = Picture::new((2, 1), vec![10, 20, 30, 40, 50, 60], decoding, Loss::None).unwrap();
/// assert_eq!(photo.codes(1, 0), [40, 50, 60]);
/// assert!(Picture::new((2, 2), vec![0; 6], decoding, Loss::None).is_none(), "pixels are missing");
/// ```
pub struct Picture {
    width: u32,
    height: u32,
    /// Three bytes a pixel, row by row.
    pixels: Vec<u8>,
    pub(crate) decoding: Decoding,
    pub(crate) loss: Loss,
    fine: Option<Box<dyn FineCodes>>,
}

impl Picture {
    /// Of its upright pixels, three bytes each, row by row; nothing when there are
    /// none, or not as many as its sides say.
    #[must_use]
    pub fn new((width, height): (u32, u32), pixels: Vec<u8>, decoding: Decoding, loss: Loss) -> Option<Self> {
        let whole = pixels.len() as u64 == 3 * u64::from(width) * u64::from(height) && !pixels.is_empty();
        whole.then_some(Self { width, height, pixels, decoding, loss, fine: None })
    }

    /// The same with codes finer than whole ones.
    #[must_use]
    pub fn with_fine_codes(self, fine: Box<dyn FineCodes>) -> Self {
        Self { fine: Some(fine), ..self }
    }

    /// Pixels across and down.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        (self.width as usize, self.height as usize)
    }

    /// The codes at a pixel; the nearest edge pixel outside.
    #[must_use]
    pub fn codes(&self, x: usize, y: usize) -> [u8; 3] {
        let (x, y) = (x.min(self.width as usize - 1), y.min(self.height as usize - 1));
        let at = 3 * (y * self.width as usize + x);
        [self.pixels[at], self.pixels[at + 1], self.pixels[at + 2]]
    }

    /// The codes at a pixel, with parts and beyond the scale where the file knows them.
    #[must_use]
    pub fn fine_codes(&self, x: usize, y: usize) -> [f64; 3] {
        let known = self.fine.as_ref().filter(|_| self.is_smoothed());
        let place = |v: usize, side: u32| (v as u32).min(side - 1);
        let fine = known.and_then(|fine| fine.codes(place(x, self.width), place(y, self.height)));
        fine.unwrap_or_else(|| self.codes(x, y).map(f64::from))
    }

    /// Shares of the 256 codes of each channel in the whole picture.
    pub(crate) fn code_shares(&self) -> Box<[[f64; 256]; 3]> {
        let mut shares = Box::new([[0.0; 256]; 3]);
        let (width, height) = self.size();
        let step = (width.min(height) / 200).max(1);
        for y in (0..height).step_by(step) {
            for x in (0..width).step_by(step) {
                for (share, code) in shares.iter_mut().zip(self.codes(x, y)) {
                    share[usize::from(code)] += 1.0;
                }
            }
        }
        let all: f64 = shares[0].iter().sum();
        shares.iter_mut().flatten().for_each(|share| *share /= all);
        shares
    }

    /// What its codes mean.
    #[must_use]
    pub fn decoding(&self) -> &Decoding {
        &self.decoding
    }

    /// What the file has done to the camera's codes.
    #[must_use]
    pub fn loss(&self) -> Loss {
        self.loss
    }

    /// Whether neighbouring codes were evened out after the camera wrote them.
    pub(crate) fn is_smoothed(&self) -> bool {
        self.loss == Loss::Smoothed
    }

    /// Light at a pixel in the picture's own primaries.
    pub(crate) fn light(&self, x: usize, y: usize) -> [f64; 3] {
        let codes = self.codes(x, y);
        [0, 1, 2].map(|c| self.decoding[c][usize::from(codes[c])])
    }

    /// The upright pixels, three bytes each, row by row.
    #[must_use]
    pub fn rgb_bytes(&self) -> &[u8] {
        &self.pixels
    }
}
