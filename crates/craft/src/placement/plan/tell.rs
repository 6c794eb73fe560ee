//! What was laid, told: sites and rows by name, what fell short and what was kept free.

use super::{Candidate, Planner, differ};
use crate::placement::apart::{Apart, ONE_PARTING_MM, Tab};
use crate::placement::care::{self, Floor};
use crate::placement::judge::zone_of;
use crate::placement::part::HeadPart;
use crate::placement::rules::{ROW_SPACING, WORTH_LONE, WORTH_ROW, WORTH_SHORT};
use crate::placement::site::{Fault, Layout, Placed, Placement, Row, RowSetting, Site, Symmetry, WHOLE_HEAD, place_of};
use crate::placement::site_id::SiteId;
use crate::placement::why;
use crate::words::Message;
use measure::text::{fixed, millimetres};
use measure::words::Sentence;
use measure::{Grams, Length};
use std::collections::BTreeSet;

impl Planner<'_> {
    /// The layout told in the order of work.
    pub(super) fn tell(&mut self, laid: Candidate) -> Placement {
        let mut faults = Vec::new();
        let mut sites: Vec<Site> = Vec::new();
        for (placed, already_in) in self.request.placed.iter().map(|p| (p, true)).chain(laid.sites.iter().map(|p| (p, false))) {
            match self.judge(placed) {
                Some((Some(site), floors)) => {
                    if already_in {
                        faults.extend(floors.into_iter().map(|floor| self.fault_of(floor, &site)));
                    }
                    sites.push(Site { already_in, ..site });
                }
                _ => {
                    let place = Message::PlaceUp { up: millimetres(placed.above_nape) };
                    faults.push(Fault::of(&Message::AlreadyInOffHair, place, care::BARE_SKIN));
                }
            }
        }
        let rows = self.name(&mut sites);
        let lone_points = self.request.rules.value(&WORTH_LONE);
        if self.request.symmetry == Symmetry::Mirrored {
            let places: Vec<Placed> = sites.iter().map(|s| Placed { above_nape: s.above_nape, along: s.along, piece: s.piece }).collect();
            for (i, site) in sites.iter_mut().enumerate() {
                let twin = places.iter().any(|q| {
                    (q.above_nape - places[i].above_nape).abs().to_mm() < ONE_PARTING_MM && (q.along + places[i].along).abs().to_mm() < 1.0
                });
                if !twin {
                    site.points.insert(WORTH_LONE.id, lone_points);
                }
            }
        }
        let points = sites.iter().flat_map(|s| s.points.values()).sum::<f64>()
            + self.request.rules.value(&WORTH_ROW) * rows.len().saturating_sub(1) as f64
            + self.request.rules.value(&WORTH_SHORT) * laid.short;
        faults.extend(self.short_fault(laid.short));
        let cautions = sites.iter().flat_map(|site| site.cautions.iter().cloned()).collect();
        let runners_up = self.runners_up(&laid);
        let spacing = rows
            .windows(2)
            .filter(|pair| pair[0].part == pair[1].part)
            .map(|pair| {
                self.apart.reading(pair[0].part, pair[1].above_nape.to_mm()) - self.apart.reading(pair[0].part, pair[0].above_nape.to_mm())
            })
            .fold(self.request.rules.value(&ROW_SPACING), f64::min);
        Placement { rows, sites, faults, cautions, short: Grams::g(laid.short), points, row_spacing: Length::mm(spacing), runners_up }
    }

    pub(super) fn fault_of(&self, floor: Floor, site: &Site) -> Fault {
        Fault::of_floor(floor, place_of(site.above_nape, site.along))
    }

    /// Of the other layouts those that share at most two thirds of their places
    /// with the plan and each other.
    pub(super) fn runners_up(&self, laid: &Candidate) -> Vec<Layout> {
        const MOST: usize = 2;
        let mut kept: Vec<&Candidate> = vec![laid];
        let mut others: Vec<&Candidate> = self.others.iter().filter(|o| !o.sites.is_empty()).collect();
        others.sort_by(|a, b| a.points.total_cmp(&b.points));
        for other in others {
            if kept.len() <= MOST && kept.iter().all(|k| differ(&k.sites, &other.sites)) {
                kept.push(other);
            }
        }
        kept[1..].iter().map(|c| Layout { sites: c.sites.clone(), points: c.points }).collect()
    }

    /// Orders and names the sites, finds their rows and says why.
    pub(super) fn name(&self, sites: &mut [Site]) -> Vec<Row> {
        sites.sort_by(|a, b| {
            a.part
                .cmp(&b.part)
                .then(a.above_nape.to_mm().total_cmp(&b.above_nape.to_mm()))
                .then(a.along.to_mm().total_cmp(&b.along.to_mm()))
        });
        let tabs: Vec<Tab> = sites
            .iter()
            .map(|s| Tab { up: s.above_nape.to_mm(), along: s.along.to_mm(), half: s.piece.tab.width.to_mm() / 2.0, part: s.part })
            .collect();
        let alongs: Vec<(f64, f64)> = tabs.iter().map(|t| (t.up, t.along)).collect();
        let mut rows: Vec<Row> = Vec::new();
        for part in HeadPart::ALL {
            let combed = Apart::rows(tabs.iter().copied(), part);
            for (index, row) in combed.iter().enumerate() {
                let number = rows.len() as u32 + 1;
                let setting = self.apart.setting(&combed, index, part);
                let mut count = 0;
                for site in sites.iter_mut().filter(|s| s.part == part && (s.above_nape.to_mm() - row.up).abs() < ONE_PARTING_MM) {
                    count += 1;
                    site.row = number;
                    site.id = SiteId::of(part, index as u32 + 1, count as u32);
                    for caution in &mut site.cautions {
                        caution.site = Some(site.id);
                    }
                    let lone = site.along.abs().to_mm() > 0.5
                        && !alongs
                            .iter()
                            .any(|(h, a)| (h - site.above_nape.to_mm()).abs() < ONE_PARTING_MM && (a + site.along.to_mm()).abs() < 1.0);
                    site.why = why::reasons(self.request, site, setting, lone && !site.already_in);
                }
                let of_row: Vec<Site> = sites.iter().filter(|s| s.row == number).take(1).cloned().collect();
                rows.extend(self.row(number, index as u32 + 1, part, row.up, setting, count).map(|r| Row { zone: zone_of(&of_row), ..r }));
            }
        }
        rows
    }

    pub(super) fn row(&self, number: u32, in_section: u32, part: HeadPart, up: f64, setting: RowSetting, sites: usize) -> Option<Row> {
        let line = self.apart.line(up)?;
        let (end, section) = (line.extent().1, line.section());
        Some(Row {
            row: number,
            in_section,
            part,
            zone: head::Zone::Occipital,
            above_nape: Length::mm(up),
            up_ear_line: self.request.scalp.up_ear_line(Length::mm(up)),
            section_at: section,
            ends_behind_ear: part == HeadPart::Back && end < section,
            length: if part == HeadPart::Back { end.min(section) * 2.0 } else { (end - section).max(Length::ZERO) },
            setting,
            sites,
        })
    }

    /// The fault of a wish that could not be met.
    pub(super) fn short_fault(&self, short: f64) -> Option<Fault> {
        let smallest = self.survey.kinds.iter().map(|k| k.grams).fold(f64::INFINITY, f64::min);
        if short < smallest.min(1.0) {
            return None;
        }
        let most = self.kept_free.iter().max_by_key(|(floor, count)| (**count, std::cmp::Reverse(**floor)));
        let cause = most.map_or_else(|| Message::NoRoomOnRows.text(), |(floor, _)| floor.says());
        let message = Message::ShortOfWish { grams: fixed(short, 1), cause: why::lower_first(cause) };
        Some(Fault::of(&message, WHOLE_HEAD, WORTH_SHORT.id))
    }

    /// Why nothing may be placed: the floors that keep most places free.
    pub(super) fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.survey.kinds.is_empty() {
            let message = match self.request.limits.heaviest {
                Some(most) => Message::PiecesAllTooHeavy { grams: fixed(most.to_g(), 1) },
                None => Message::NoPieceOffered,
            };
            faults.push(Fault::of(&message, "pieces", crate::load::STATIC_LIMIT.id));
        }
        if self.lowest.is_empty() {
            let message = Message::NoPartingBetween {
                nape: millimetres(self.request.limits.floors.nape),
                crown: millimetres(self.survey.keeps().ceiling()),
            };
            faults.push(Fault::of(&message, "back of the head", crate::coverage::NAPE_FLOOR.id));
        }
        let mut by_count: Vec<_> = self.kept_free.iter().collect();
        by_count.sort_by_key(|(floor, count)| (std::cmp::Reverse(**count), **floor));
        let mut told = BTreeSet::new();
        for (floor, _) in by_count {
            if *floor != Floor::TooHeavy && told.insert(floor.rule()) {
                faults.push(Fault::of_floor(*floor, WHOLE_HEAD));
            }
        }
        faults.extend(self.survey.no_slices().iter().map(why::no_slice_fault));
        if faults.is_empty() {
            let message = if self.request.limits.avoid.is_empty() { Message::NoPlaceForTab } else { Message::AllKeptFree };
            faults.push(Fault::of(&message, WHOLE_HEAD, care::AVOID));
        }
        faults
    }
}
