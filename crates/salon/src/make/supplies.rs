//! What the salon has and knows besides the client's facts.

use crate::book::visit::observed::Observed;
use crate::plan::OwnHair;
use crate::stock::Order;
use craft::matching::Ring;
use reading::Reading;

/// What the salon has besides the client's facts.
#[derive(Debug, Clone, Copy, Default)]
pub struct Supplies<'a> {
    /// The ring of shades.
    pub ring: Option<&'a Ring>,
    /// What lies on the shelf and what is on sale.
    pub shelf: Option<&'a Order>,
    /// The colour read from a photo.
    pub reading: Option<&'a Reading>,
    /// What earlier visits showed of her hair and bonds.
    pub observed: Option<&'a Observed>,
    /// Her own pieces that go back in.
    pub hers: Option<&'a OwnHair>,
}
