//! How sure a reading is, and what it rests on.

use crate::chosen::Chosen;
use crate::fault::{ReadFault, UnsureFault, Worst};
use crate::patch_words::{patch_in_words, patch_list};
use crate::words::Message;
use colour::Lab;
use colour::pigment::level_of;
use measure::real::pow;
use measure::text::capital;
use serde::{Deserialize, Serialize};

/// What the photograph says of itself: the grounds of the uncertainty.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Residuals {
    /// What the chart's patches near the hair's colour are off by on average, each read as if
    /// it were hair and had not been seen, in dE00.
    pub chart_de00: f64,
    /// How far the accounts that share the reading stand apart, in dE00.
    #[serde(default)]
    pub accounts_de00: f64,
    /// Relative error of the grey patches after the tone curve was undone.
    pub grey_error: f64,
    /// Strength of the tone curve found, 0 for the standard one.
    pub curve_strength: f64,
    /// Largest over smallest light between chart and hair; 1 when not known.
    pub light_range: f64,
    /// How far the light's red changes against its blue between chart and hair,
    /// as a natural logarithm.
    #[serde(default)]
    pub light_colour: f64,
    /// How far the hair's light is in doubt because of where it lies, as a natural logarithm.
    #[serde(default)]
    pub light_doubt: f64,
    /// Spread of the board about an even one, relative; 0 where no board was used.
    pub board_spread: f64,
    /// Share of clipped pixels in the hair.
    pub clipped: f64,
    /// The same in one channel and another, as the root of their mean square.
    #[serde(default)]
    pub cut_off: f64,
    /// Share of pixels at black in the darkest hair, in the worst channel.
    #[serde(default)]
    pub at_black: f64,
    /// Whether the file evened out neighbouring codes, as a JPEG does: what was cut
    /// off at black is then known less well.
    #[serde(default)]
    pub smoothed: bool,
    /// Share of the hair's length that was left out for gloss.
    #[serde(default)]
    pub gloss: f64,
    /// How far gloss leaves the hair's lightness in doubt, relative.
    #[serde(default)]
    pub gloss_doubt: f64,
}

/// The parts of the uncertainty, each in dE00; together they are the root of
/// the sum of their squares.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct UncertaintyParts {
    /// What no photo gets below: three channels do not hold a spectrum.
    pub least: f64,
    /// The chart's patches do not all come out true.
    pub chart: f64,
    /// Ways of reading this picture that do equally well on its chart disagree.
    #[serde(default)]
    pub accounts: f64,
    /// The greys do not come out true: a tone curve not wholly undone.
    pub greys: f64,
    /// The light is uneven or changes its colour, or the board is blotchy.
    pub light: f64,
    /// Pixels at the ends of the scale, white or black.
    pub clipping: f64,
    /// Gloss over much of the hair.
    pub gloss: f64,
}

/// Where the doubt from the chart is as many times what like patches are off by as is said,
/// in dE00: below it less, beyond it more.
const COMMON: f64 = 2.5;

/// However far apart the accounts stand, and however much of the hair is at black in one
/// channel while the hair itself is not dark, the reading is no further off than these, in
/// dE00: the chart still holds it.
const MOST_ACCOUNTS: f64 = 3.0;
const MOST_BLACK: f64 = 4.0;

/// Hair as light as this is not hidden by noise at black: only its colour is strong.
const NOT_DARK: f64 = 35.0;

/// Darker hair with more than this share of its pixels black in a channel cannot be read;
/// in a file that evens out codes less of it suffices.
const WORST_BLACK: f64 = 0.6;
const WORST_BLACK_SMOOTHED: f64 = 0.25;

impl UncertaintyParts {
    /// All parts together.
    #[must_use]
    pub fn together(&self) -> f64 {
        let parts = [self.least, self.chart, self.accounts, self.greys, self.light, self.clipping, self.gloss];
        parts.iter().map(|part| part * part).sum::<f64>().sqrt()
    }

    /// Nine errors in ten are no larger than these together. Each grows with
    /// what it is named for. `l`: the hair's lightness.
    pub(crate) fn of(found: &Residuals, l: f64, chosen: &Chosen) -> Self {
        let root = |p: f64, q: f64, r: f64| (p * p + q * q + r * r).sqrt();
        // A change of light by a small share moves L* by a third of L* + 16 times it.
        let of_light = (l + 16.0) / 3.0;
        Self {
            least: chosen.least,
            chart: chosen.times_chart * found.chart_de00 * pow((found.chart_de00 / COMMON).max(1e-3), chosen.steeper),
            accounts: (chosen.times_accounts * found.accounts_de00).min(MOST_ACCOUNTS),
            // More than a curve leaves is noise bent by it, most of all in the dark.
            greys: chosen.times_greys
                * root(6.0 * found.grey_error, 1.5 * found.curve_strength, 60.0 * (found.grey_error - 0.017).max(0.0)),
            light: root(4.0 * found.board_spread, 0.9 * of_light * found.light_doubt, 2.4 * found.light_colour.min(1.0)),
            // A curve unknown at black bends what noise has cut off there.
            clipping: root(
                chosen.times_clipped * found.cut_off,
                (if found.smoothed { 12.0 } else { 3.0 } * found.at_black * (1.0 + 2.0 * found.curve_strength.max(0.0)))
                    .min(if l > NOT_DARK { MOST_BLACK } else { f64::INFINITY }),
                0.0,
            ),
            gloss: root(5.0 * (found.gloss - 0.7).max(0.0), 50.0 * found.gloss_doubt, 0.0),
        }
    }

    /// The cause of the largest part besides the least.
    fn worst(&self) -> Worst {
        let parts = [
            (self.chart.max(self.accounts), Worst::Chart),
            (self.greys, Worst::Greys),
            (self.light, Worst::Light),
            (self.clipping, Worst::Clipping),
            (self.gloss, Worst::Gloss),
        ];
        parts.into_iter().max_by(|p, q| p.0.total_cmp(&q.0)).map_or(Worst::Chart, |(_, cause)| cause)
    }
}

/// Beyond this, in dE00, a reading says nothing: two neighbouring levels are no further apart.
pub(crate) const MOST_UNSURE: f64 = 6.0;

/// Hair with more of its pixels at the top of the scale than this shows no colour.
const ALL_CLIPPED: f64 = 0.95;

/// Light that changes by more than this factor between chart and hair cannot be read.
const WORST_LIGHT: f64 = 2.5;

/// Light whose red changes against its blue by more than this, as a logarithm,
/// is mixed from two.
const MIXED_LIGHT: f64 = 0.15;

/// *Errors*: a picture that says nothing of this hair, and why.
pub(crate) fn refuse_unsure(found: &Residuals, parts: &UncertaintyParts, l: f64) -> Result<(), ReadFault> {
    if l < NOT_DARK && found.at_black > if found.smoothed { WORST_BLACK_SMOOTHED } else { WORST_BLACK } {
        return Err(ReadFault::Unsure(UnsureFault::TooDark));
    }
    if found.light_range > WORST_LIGHT {
        return Err(ReadFault::Unsure(UnsureFault::Light));
    }
    if found.clipped > ALL_CLIPPED {
        return Err(ReadFault::Unsure(UnsureFault::TooBright));
    }
    let together = parts.together();
    if together > MOST_UNSURE {
        return Err(ReadFault::Unsure(UnsureFault::Together { units: together, worst: parts.worst() }));
    }
    Ok(())
}

/// Plain sentences on what is wrong in this picture and what to do.
pub(crate) fn warnings(found: &Residuals, lab: Lab, too_bright: &[usize], covered: &[usize]) -> Vec<String> {
    let mut said = Vec::new();
    if found.light_range > 1.4 {
        said.push(Message::LightChanges);
    }
    match too_bright {
        [] => {}
        [one] => said.push(Message::OneTooBright { patch: capital(&patch_in_words(*one)) }),
        some => said.push(Message::SeveralTooBright { patches: capital(&patch_list(some)) }),
    }
    match covered {
        [] => {}
        [one] => said.push(Message::OneNotUsed { patch: capital(&patch_in_words(*one)) }),
        some => said.push(Message::SeveralNotUsed { patches: capital(&patch_list(some)) }),
    }
    if found.light_colour > MIXED_LIGHT {
        said.push(Message::TwoLights);
    }
    if found.at_black > 0.1 {
        said.push(Message::HairDark);
    }
    if found.gloss > 0.85 {
        said.push(Message::HairGlossy);
    }
    if found.clipped > 0.02 {
        said.push(Message::HairWhiteWithShine);
    }
    if level_of(lab.l) < 4.0 {
        said.push(Message::HalfLevelUnsure);
    }
    said.into_iter().map(String::from).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: Residuals = Residuals {
        chart_de00: 1.6,
        accounts_de00: 0.4,
        grey_error: 0.005,
        curve_strength: 0.3,
        light_range: 1.2,
        light_colour: 0.0,
        light_doubt: 0.02,
        board_spread: 0.0,
        clipped: 0.0,
        cut_off: 0.0,
        at_black: 0.0,
        smoothed: true,
        gloss: 0.5,
        gloss_doubt: 0.01,
    };

    fn refused(found: Residuals) -> Option<String> {
        refuse_unsure(&found, &UncertaintyParts::of(&found, 50.0, &Chosen::IN_FOLDS), 50.0).err().map(|fault| fault.to_string())
    }

    #[test]
    fn a_poor_picture_is_read_with_its_doubt_and_one_that_says_nothing_is_refused_for_what_is_wrong() {
        assert_eq!(refused(SOUND), None);
        assert_eq!(refused(Residuals { chart_de00: 3.2, ..SOUND }), None);
        assert!(refused(Residuals { chart_de00: 4.6, accounts_de00: 2.0, ..SOUND }).unwrap().contains("chart"));
        assert!(refused(Residuals { light_doubt: 0.6, ..SOUND }).unwrap().contains("side by side"));
        assert!(refused(Residuals { light_range: 2.6, ..SOUND }).unwrap().contains("window"));
        assert!(refused(Residuals { clipped: 0.97, ..SOUND }).unwrap().contains("bright"));
        assert!(refused(Residuals { gloss_doubt: 0.2, ..SOUND }).unwrap().contains("gloss"));
        // Cut off in all channels nothing of hair is known, in one of them two are left.
        assert!(refused(Residuals { clipped: 0.9, cut_off: 0.9, ..SOUND }).unwrap().contains("the end of what the camera can show"));
        assert_eq!(refused(Residuals { clipped: 0.9, cut_off: 0.52, ..SOUND }), None);
        // Strong colour leaves a channel black in hair that is not dark; noise does in dark hair.
        let black = Residuals { at_black: 0.9, ..SOUND };
        assert!(refuse_unsure(&black, &UncertaintyParts::of(&black, 50.0, &Chosen::IN_FOLDS), 50.0).is_ok());
        assert!(
            refuse_unsure(&black, &UncertaintyParts::of(&black, 15.0, &Chosen::IN_FOLDS), 15.0).unwrap_err().to_string().contains("noise")
        );
    }

    #[test]
    fn warnings_name_the_patch_by_its_looks() {
        let said = warnings(&SOUND, Lab::new(50.0, 5.0, 15.0), &[18], &[0, 5]);
        assert!(said[0].starts_with("The white patch, first in the last row"), "{said:?}");
        assert!(said[1].starts_with("The brown and pale turquoise patches do not look"), "{said:?}");
    }
}
