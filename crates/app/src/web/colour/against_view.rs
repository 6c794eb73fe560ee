//! What a reading is matched against: the ring's own colours, or the ring as a phone read it.

use crate::web::colour::phones::PhoneView;
use craft::matching::{Ring, RingAsRead};
use measure::text::fixed;
use reading::Format;
use std::collections::BTreeMap;

/// The ring as a phone read it, in the place of its own colours.
pub struct Against {
    /// Its id.
    pub id: String,
    /// Phone and light.
    pub name: String,
    /// Its shades.
    pub read: RingAsRead,
    /// Whether the photo is known to be another phone's.
    pub by_another: bool,
}

/// What a reading is matched against.
pub struct AgainstView {
    /// What may be chosen: id, name, and whether it is.
    pub choices: Vec<(String, String, bool)>,
    /// What that means, where it is a phone's reading.
    pub says: String,
    /// Why it should not be, where it should not.
    pub care: String,
}

/// What may be chosen, and what the choice means; nothing without the ring as a phone read it.
pub fn against(around: &Around, uncertainty: f64) -> Option<AgainstView> {
    if around.read_rings.is_empty() {
        return None;
    }
    let chosen = around.against.as_ref();
    let mut choices = vec![(String::new(), "The ring’s own colours".to_owned(), chosen.is_none())];
    choices.extend(
        around.read_rings.iter().map(|(id, name)| (id.clone(), format!("As read by {name}"), chosen.is_some_and(|one| one.id == *id))),
    );
    let says = chosen.map_or_else(String::new, |one| {
        let (read, all) = (one.read.ring.shades.len(), around.ring.shades.len());
        let rest = match all - read {
            0 => String::new(),
            1 => " The one that was not read is left out; it may be nearer.".to_owned(),
            unread => format!(" The {unread} that were not read are left out; one of them may be nearer."),
        };
        let sure = fixed(one.read.sure_with(uncertainty), 1);
        format!("Her ends are matched against {read} of {all} shades as they were read with {}. Both photos may be off, so a difference is sure to {sure}.{rest}", one.name)
    });
    let care = match chosen {
        Some(one) if one.by_another => {
            "This photo was taken with another phone. Between two phones such a match does worse than the ring’s own colours: choose those."
                .to_owned()
        }
        Some(one) if one.read.ring.shades.is_empty() => format!("None of the ring’s shades were read by {}.", one.name),
        _ => String::new(),
    };
    Some(AgainstView { choices, says, care })
}

/// What stands round a reading.
pub struct Around {
    /// The salon's ring.
    pub ring: Ring,
    /// Pieces on the shelf, by shade.
    pub on_hand: BTreeMap<String, u32>,
    /// How many pieces are shared out.
    pub pieces: u32,
    /// Whether a number of pieces was asked for that cannot be.
    pub pieces_refused: bool,
    /// Whether a plan says how many pieces.
    pub planned: bool,
    /// The one shade that is looked at alone.
    pub show: String,
    /// The light the shades are looked at under, by its published name.
    pub light: String,
    /// Whether her plan is made with this reading.
    pub in_force: bool,
    /// Her name.
    pub name: String,
    /// The format its photo is kept in.
    pub format: Format,
    /// Pixels of its photo; nothing once that is thrown away.
    pub size: Option<(usize, usize)>,
    /// The ring as a phone read it that is matched against.
    pub against: Option<Against>,
    /// Rings as read that may be: id and name.
    pub read_rings: Vec<(String, String)>,
    /// The phone that took the photo; nothing without one.
    pub phone: Option<PhoneView>,
}
