//! The day: who comes when; and whether the diary holds what it promises.

use crate::people::SetAside;
use crate::{DeskFault, Salon};
use salon::book::{Appointment, AppointmentId, Booked, ClientId, Day, DiaryBook, DiaryEvent, TimeOfDay};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;
use store::book::Stream;

impl Salon {
    /// The diary that holds a day: the one in force, or all of it.
    pub(crate) async fn diary_of(&self, day: Day) -> Result<Arc<DiaryBook>, DeskFault> {
        let diary = self.diary_book().await?;
        if diary.holds(day) { Ok(diary) } else { Ok(Arc::new(self.folded(DiaryBook::whole()).await?)) }
    }

    /// The appointments of a day that stand, in the order of the day, each with its end.
    ///
    /// *Errors*: the records.
    pub async fn show_diary(&self, on: Day) -> Result<Value, DeskFault> {
        let diary = self.diary_of(on).await?;
        let standing = diary.of_day(on);
        let lines = self.all_lines().await?;
        let set_aside = SetAside::of(&lines);
        let label = |client: ClientId| lines.iter().find(|line| line.1.id == client).map(|line| line.1.label.clone());
        let told = |(id, held): &(AppointmentId, &Appointment)| {
            let client = set_aside.kept(held.booked.client);
            let Booked { kind, at, minutes, predicted, person, ref chair, .. } = held.booked;
            json!({
                "appointment": id.to_string(), "client": client.to_string(), "label": label(client), "kind": kind.word(), "at": at,
                "ends": TimeOfDay::after_midnight(held.booked.ends()), "minutes": minutes, "predicted": predicted,
                "person": person.to_string(), "chair": chair,
            })
        };
        Ok(json!({ "diary": standing.iter().map(told).collect::<Vec<_>>() }))
    }

    /// The diary as a calendar file: what is to come, and of what is past as much as is held ready.
    ///
    /// *Errors*: the records.
    pub async fn diary_calendar(&self) -> Result<String, DeskFault> {
        let diary = self.diary_book().await?;
        let house = self.house_book().await?;
        let zone = house.house.0.zone.as_deref().and_then(|zone| jiff::tz::TimeZone::get(zone).ok());
        let lines = self.all_lines().await?;
        let label = |held: &Appointment| {
            lines.iter().find(|line| line.1.id == held.booked.client).map_or_else(String::new, |line| line.1.label.clone())
        };
        let mut all: Vec<(AppointmentId, &Appointment)> = diary.appointments.iter().map(|(id, held)| (*id, held)).collect();
        all.sort_by_key(|(id, held)| (held.booked.day, held.booked.at, *id));
        Ok(paper::diary_calendar(&all, label, zone.as_ref()))
    }

    /// What the diary promises, reckoned from its events alone.
    pub(crate) async fn diary_checks(&self) -> Result<Vec<(&'static str, bool)>, DeskFault> {
        let mut all: BTreeMap<AppointmentId, (Option<Booked>, u32)> = BTreeMap::new();
        let (mut known, mut counted) = (true, true);
        self.each(Stream::Diary, |event: DiaryEvent, _| match event {
            DiaryEvent::AppointmentBooked { appointment, booked, .. } => known &= all.insert(appointment, (Some(booked), 0)).is_none(),
            DiaryEvent::AppointmentMoved { appointment, booked, changes, .. } => match all.get_mut(&appointment) {
                Some((stands @ Some(_), so_far)) => {
                    counted &= changes == *so_far + 1;
                    (*stands, *so_far) = (Some(booked), changes);
                }
                _ => known = false,
            },
            DiaryEvent::AppointmentCancelled { appointment, .. } => match all.get_mut(&appointment) {
                Some((stands @ Some(_), so_far)) => (*stands, *so_far) = (None, *so_far + 1),
                _ => known = false,
            },
        })
        .await?;
        let mut standing: Vec<&Booked> = all.values().filter_map(|(stands, _)| stands.as_ref()).collect();
        standing.sort_by_key(|booked| (booked.person, booked.day, booked.at));
        let beside = |pair: &[&Booked]| (pair[0].person, pair[0].day) == (pair[1].person, pair[1].day);
        let alone = standing.windows(2).all(|pair| !beside(pair) || pair[0].ends() <= pair[1].at.minutes());
        let diary = self.diary_book().await?;
        let same = all.iter().all(|(id, (stands, changes))| match (diary.appointments.get(id), stands) {
            (Some(held), Some(booked)) => held.booked == *booked && held.changes == *changes && !held.cancelled,
            (Some(held), None) => held.cancelled && held.changes == *changes,
            (None, Some(booked)) => !diary.holds(booked.day),
            (None, None) => true,
        });
        Ok(vec![
            ("nobody is booked twice at one time", alone),
            ("only an appointment that stands is moved or cancelled, and its changes are counted one by one", known && counted),
            ("the diary in force says what its events say", same),
        ])
    }
}
