//! The diary against brute force: a table with one place for each minute of each
//! person's day, and a model that forgets nothing.

use proptest::prelude::*;
use salon::book::appointments::HELD_DAYS;
use salon::book::{
    AppointmentId, Booked, ClientId, Day, DiaryBook, DiaryEvent, Moved, PersonId, Stood, TimeOfDay, VisitKind, decide_booked,
    decide_cancelled, decide_moved, predicted_minutes,
};
use std::collections::{BTreeMap, HashMap};

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn rules<T: std::fmt::Debug>(decided: Result<T, Vec<salon::Fault>>) -> Vec<String> {
    decided.unwrap_err().into_iter().map(|fault| fault.rule).collect()
}

fn booked(on: &str, at: &str, minutes: u32) -> Booked {
    Booked {
        client: ClientId(7),
        kind: VisitKind::Application,
        day: day(on),
        at: at.parse().unwrap(),
        minutes,
        predicted: false,
        person: PersonId(1),
        chair: None,
    }
}

#[derive(Debug, Clone)]
enum Step {
    Book { ahead: i16, at: u16, minutes: u32, person: u8 },
    Move { which: u8, ahead: Option<i16>, at: Option<u16>, minutes: Option<u32>, person: Option<u8> },
    Cancel(u8),
    Days(i16),
}

fn step() -> impl Strategy<Value = Step> {
    let (ahead, at, minutes) = (prop_oneof![-2_i16..3, -3_i16..160, Just(500)], 0_u16..1440, prop_oneof![0_u32..300, Just(u32::MAX)]);
    let o = prop::option::of::<BoxedStrategy<i16>>;
    prop_oneof![
        4 => (ahead.clone(), at.clone(), minutes.clone(), 0_u8..2)
            .prop_map(|(ahead, at, minutes, person)| Step::Book { ahead, at, minutes, person }),
        3 => (0_u8..30, o(ahead.boxed()), prop::option::of(at), prop::option::of(minutes), prop::option::of(0_u8..2))
            .prop_map(|(which, ahead, at, minutes, person)| Step::Move { which, ahead, at, minutes, person }),
        1 => (0_u8..30).prop_map(Step::Cancel),
        1 => (-20_i16..90).prop_map(Step::Days),
    ]
}

/// Every minute that somebody works, and for which appointment.
#[derive(Default)]
struct Minutes(HashMap<(u128, Day, u32), u128>);

impl Minutes {
    fn free(&self, booked: &Booked, but: Option<u128>) -> bool {
        let from = booked.at.minutes();
        (from..from + booked.minutes).all(|minute| {
            let holder = self.0.get(&(booked.person.0, booked.day, minute));
            holder.is_none_or(|holder| Some(*holder) == but)
        })
    }

    fn take(&mut self, id: u128, booked: &Booked) {
        let from = booked.at.minutes();
        (from..from + booked.minutes).for_each(|minute| _ = self.0.insert((booked.person.0, booked.day, minute), id));
    }

    fn leave(&mut self, id: u128) {
        self.0.retain(|_, holder| *holder != id);
    }
}

fn whole(events: &[(DiaryEvent, Stood)]) -> DiaryBook {
    let mut book = DiaryBook::whole();
    events.iter().for_each(|(event, stood)| book.apply(event.clone(), *stood));
    book
}

/// Whether an appointment can be at all, on a day.
fn can_be(booked: &Booked, on: Day) -> bool {
    let far = booked.day.days_since(on) > 400;
    booked.day >= on && !far && booked.minutes > 0 && u64::from(booked.at.minutes()) + u64::from(booked.minutes) <= 1440
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn nobody_is_booked_twice_whatever_is_asked(steps in prop::collection::vec(step(), 1..80)) {
        let (mut book, mut events) = (DiaryBook::default(), Vec::<(DiaryEvent, Stood)>::new());
        let (mut minutes, mut plain) = (Minutes::default(), BTreeMap::<u128, (Booked, u32, bool)>::new());
        let start = day("2026-06-01");
        let (mut on, mut next) = (start, 0_u128);
        for step in steps {
            let at_day = |ahead: i16| start.later_by((on.days_since(start) + i64::from(ahead)).max(0) as u32).unwrap();
            let mut decided = Vec::new();
            match step {
                Step::Days(days) => on = at_day(days),
                Step::Book { ahead, at, minutes: long, person } => {
                    let wanted = Booked {
                        day: at_day(ahead), at: TimeOfDay::after_midnight(at.into()).unwrap(), minutes: long,
                        person: PersonId(person.into()), ..booked("2026-06-01", "10:00", 1)
                    };
                    let used = if book.holds(wanted.day) { book.clone() } else { whole(&events) };
                    let outcome = decide_booked(&used, AppointmentId(next), wanted.clone(), None, on);
                    let expected = can_be(&wanted, on) && minutes.free(&wanted, None);
                    prop_assert_eq!(outcome.is_ok(), expected, "{:?} {:?}", wanted, outcome);
                    if let Ok(event) = outcome {
                        minutes.take(next, &wanted);
                        plain.insert(next, (wanted, 0, false));
                        decided.push(event);
                        next += 1;
                    }
                }
                Step::Move { which, ahead, at, minutes: long, person } => {
                    let moved = Moved {
                        day: ahead.map(at_day), at: at.and_then(|at| TimeOfDay::after_midnight(at.into())), minutes: long,
                        person: person.map(|person| PersonId(person.into())),
                    };
                    let id = u128::from(which);
                    let held = book.appointments.contains_key(&AppointmentId(id)) && moved.day.is_none_or(|day| book.holds(day));
                    let used = if held { book.clone() } else { whole(&events) };
                    let outcome = decide_moved(&used, AppointmentId(id), moved, None, on);
                    let Some((was, changes, cancelled)) = plain.get(&id).cloned() else {
                        prop_assert_eq!(rules(outcome), ["unknown"]);
                        continue;
                    };
                    let now = moved.of(&was);
                    let expected = !cancelled && (now == was || can_be(&now, on) && minutes.free(&now, Some(id)));
                    prop_assert_eq!(outcome.is_ok(), expected, "{:?} {:?}", now, outcome);
                    decided = outcome.unwrap_or_default();
                    prop_assert_eq!(decided.len(), usize::from(expected && now != was));
                    if !decided.is_empty() {
                        minutes.leave(id);
                        minutes.take(id, &now);
                        plain.insert(id, (now, changes + 1, false));
                    }
                }
                Step::Cancel(which) => {
                    let id = u128::from(which);
                    let used = if book.appointments.contains_key(&AppointmentId(id)) { book.clone() } else { whole(&events) };
                    let outcome = decide_cancelled(&used, AppointmentId(id), None);
                    prop_assert_eq!(outcome.is_ok(), plain.get(&id).is_some_and(|(_, _, cancelled)| !cancelled));
                    if let (Ok(event), Some(held)) = (outcome, plain.get_mut(&id)) {
                        (held.1, held.2) = (held.1 + 1, true);
                        minutes.leave(id);
                        decided.push(event);
                    }
                }
            }
            for event in decided {
                let stood = Stood { version: events.len() as u64 + 1, at_ms: 0, on, minute: None };
                book.apply(event.clone(), stood);
                events.push((event, stood));
            }
            for (id, (booked, changes, cancelled)) in &plain {
                match book.appointments.get(&AppointmentId(*id)) {
                    Some(held) => {
                        prop_assert_eq!((held.changes, held.cancelled), (*changes, *cancelled));
                        prop_assert_eq!(&held.booked, booked);
                    }
                    None => prop_assert!(!book.holds(booked.day), "{:?} is let go too early", booked),
                }
            }
            prop_assert!(book.appointments.values().all(|held| book.holds(held.booked.day)), "bounded");
        }
    }
}

#[test]
fn two_may_meet_at_the_door_but_not_share_a_minute() {
    let mut book = DiaryBook::default();
    let on = day("2026-03-02");
    let first = decide_booked(&book, AppointmentId(1), booked("2026-03-03", "10:30", 90), None, on).unwrap();
    book.apply(first, Stood { version: 1, at_ms: 5, on, minute: None });
    let try_at = |at: &str, minutes, person| {
        let wanted = Booked { person: PersonId(person), ..booked("2026-03-03", at, minutes) };
        decide_booked(&book, AppointmentId(2), wanted, None, on)
    };
    assert!(try_at("12:00", 30, 1).is_ok() && try_at("09:30", 60, 1).is_ok(), "one ends as the other begins");
    assert!(try_at("11:00", 30, 2).is_ok(), "somebody else is free");
    for (at, minutes) in [("11:59", 1), ("09:30", 61), ("10:00", 300), ("11:00", 10)] {
        assert_eq!(rules(try_at(at, minutes, 1)), ["one-place"], "{at}");
    }
    assert_eq!(rules(try_at("23:00", 61, 2)), ["midnight"]);
    assert!(try_at("23:00", 60, 2).is_ok());
    assert_eq!(rules(try_at("23:00", 0, 2)), ["minutes"]);
    assert_eq!(rules(decide_booked(&book, AppointmentId(2), booked("2026-03-01", "10:00", 5), None, on)), ["past-day"]);
    let far = booked("2036-03-03", "10:00", 5);
    assert_eq!(rules(decide_booked(&book, AppointmentId(2), far.clone(), Some(" ".into()), on)), ["diary-ahead"]);
    assert!(decide_booked(&book, AppointmentId(2), far, Some("her silver wedding".into()), on).is_ok());
}

#[test]
fn two_people_do_not_book_one_chair_at_one_time() {
    let mut book = DiaryBook::default();
    let on = day("2026-03-02");
    let at = |chair: Option<&str>, person| Booked {
        chair: chair.map(str::to_owned),
        person: PersonId(person),
        ..booked("2026-03-03", "10:30", 90)
    };
    let first = decide_booked(&book, AppointmentId(1), at(Some("Window"), 1), None, on).unwrap();
    book.apply(first, Stood { version: 1, at_ms: 5, on, minute: None });
    let refused = decide_booked(&book, AppointmentId(2), at(Some(" window"), 2), None, on).unwrap_err();
    assert_eq!((refused.len(), refused[0].place.to_string(), refused[0].rule.as_str()), (1, "chair".to_owned(), "one-place"));
    assert!(refused[0].what.starts_with("at Window somebody sits then"), "{}", refused[0].what);
    for chair in [Some("Mirror"), None] {
        assert!(decide_booked(&book, AppointmentId(2), at(chair, 2), None, on).is_ok(), "{chair:?}");
    }
}

#[test]
fn an_appointment_keeps_its_id_and_counts_its_changes() {
    let mut book = DiaryBook::default();
    let on = day("2026-03-02");
    let id = AppointmentId(1);
    let mut version = 0;
    let mut put = |book: &mut DiaryBook, event: DiaryEvent| {
        version += 1;
        book.apply(event, Stood { version, at_ms: 10 * version as i64, on, minute: None });
    };
    let first = decide_booked(&book, id, Booked { predicted: true, ..booked("2026-03-03", "10:30", 90) }, None, on).unwrap();
    put(&mut book, first);
    let later = Moved { at: Some("11:00".parse().unwrap()), ..Moved::default() };
    let moved = decide_moved(&book, id, later, None, on).unwrap().remove(0);
    put(&mut book, moved);
    assert_eq!(decide_moved(&book, id, later, None, on), Ok(vec![]), "it is there already");
    let held = book.appointments[&id].clone();
    assert_eq!((held.changes, held.booked.predicted, held.booked.minutes, held.said_ms), (1, true, 90, 20));
    assert_eq!(book.of_day(day("2026-03-03")).len(), 1);
    assert_eq!(book.of_client(ClientId(7), on), [id]);
    let cancelled = decide_cancelled(&book, id, Some("she has a cold".into())).unwrap();
    put(&mut book, cancelled);
    assert_eq!((book.appointments[&id].changes, book.appointments[&id].cancelled), (2, true));
    assert!(book.of_day(day("2026-03-03")).is_empty() && book.of_client(ClientId(7), on).is_empty());
    assert_eq!(rules(decide_moved(&book, id, later, None, on)), ["cancelled"]);
    assert_eq!(rules(decide_cancelled(&book, id, None)), ["cancelled"]);
    assert_eq!(rules(decide_cancelled(&book, AppointmentId(9), None)), ["unknown"]);
    // Her place is free again.
    assert!(decide_booked(&book, AppointmentId(2), booked("2026-03-03", "11:00", 90), None, on).is_ok());
}

#[test]
fn what_is_long_past_is_let_go() {
    let mut book = DiaryBook::default();
    let put = |book: &mut DiaryBook, id, on: &str| {
        let event = decide_booked(book, AppointmentId(id), booked(on, "10:00", 30), None, day(on)).unwrap();
        book.apply(event, Stood { version: book.version + 1, at_ms: 0, on: day(on), minute: None });
    };
    put(&mut book, 1, "2026-01-01");
    put(&mut book, 2, "2026-03-02");
    assert_eq!(day("2026-03-02").days_since(day("2026-01-01")), HELD_DAYS);
    assert_eq!(book.appointments.len(), 2, "the sixtieth day is held");
    put(&mut book, 3, "2026-03-03");
    assert_eq!(book.appointments.keys().map(|id| id.0).collect::<Vec<_>>(), [2, 3]);
    assert!(!book.holds(day("2026-01-01")) && book.holds(day("2026-01-02")));
}

#[test]
fn times_are_times_and_kinds_say_how_long() {
    for there_is in ["00:00", "10:30", "23:59"] {
        assert_eq!(there_is.parse::<TimeOfDay>().unwrap().to_string(), there_is);
    }
    for none in ["24:00", "10:60", "1:30", "10:5", "10-30", "+9:30", "", "10:30:00", "é0:30"] {
        assert!(none.parse::<TimeOfDay>().is_err(), "{none}");
    }
    assert_eq!(TimeOfDay::after_midnight(1440).map(|at| at.to_string()).as_deref(), Some("24:00"), "the midnight that ends a day");
    assert_eq!(TimeOfDay::after_midnight(1441), None);
    let rules = measure::RuleBook::standard();
    let minutes = |kind| predicted_minutes(kind, Some(20), &rules);
    // By hand: 45 + 20 x 2.5 + 30 to put in; 20 x 3 more to take out first; 20 x 3 + 30 to take out alone.
    assert_eq!(minutes(VisitKind::Application), Some(125));
    assert_eq!(minutes(VisitKind::Retape), Some(185));
    assert_eq!(minutes(VisitKind::Removal), Some(90));
    assert_eq!(predicted_minutes(VisitKind::Removal, None, &rules), None);
    for kind in [VisitKind::Consultation, VisitKind::Colour, VisitKind::Check] {
        assert!(predicted_minutes(kind, None, &rules).is_some_and(|minutes| minutes > 0));
    }
}
