//! Acts of the diary: an appointment booked, moved, cancelled.

use super::{Decided, Line, Stop};
use crate::house::SeenBonds;
use crate::written::{Act, new_id};
use crate::{DeskFault, Salon, client_line};
use salon::Fault;
use salon::book::{
    Appointment, AppointmentId, Booked, ClientBook, ClientId, Day, DiaryBook, DiaryEvent, Moved, PersonId, VisitKind, World, decide_booked,
    decide_cancelled, decide_moved, predicted_minutes,
};
use salon::words::Message;
use std::sync::Arc;
use store::book::Stream;

fn refused(message: &Message, place: &str, rule: &str) -> Stop {
    Stop::Fault(DeskFault::Refused(vec![Fault::of(message, place, rule)]))
}

/// Sandwiches that an appointment is about: those of the set that is in where it comes
/// out, those of her newest plan where it goes in.
fn sandwiches(her: &ClientBook, kind: VisitKind) -> Option<u32> {
    let newest = her.plans.iter().rev().find(|plan| !plan.sites.is_empty());
    let worn = client_line::worn(&her.plans).map(|(plan, _)| plan).filter(|_| kind != VisitKind::Application);
    worn.or(newest).and_then(|plan| u32::try_from(plan.sites.len()).ok())
}

impl Salon {
    /// Books an appointment.
    pub(super) async fn appointment_booked(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let client: ClientId = line.needed("client")?;
        let kind: VisitKind = line.needed("kind")?;
        let (day, at) = (line.needed("day")?, line.needed("at")?);
        let (said, person, chair) = (line.asked::<u32>("minutes")?, line.asked::<PersonId>("person")?, line.asked("chair")?);
        let because: Option<String> = line.asked("because")?;
        let her = self.client_book(client, None).await?;
        if let Some(kept) = her.same.kept {
            return Err(refused(&Message::RecordIsSetAside { kept: kept.to_string() }, "client", "same-person"));
        }
        let mut diary = self.diary_book().await?;
        line.still("the diary", diary.version)?;
        if !diary.holds(day) {
            diary = Arc::new(self.folded(DiaryBook::whole()).await?);
        }
        let person = match person {
            Some(person) => self.known_person(person).await?,
            None => world.by,
        };
        let rules = SeenBonds::of(&*self.house_book().await?).book();
        let minutes = said.or_else(|| predicted_minutes(kind, sandwiches(&her, kind), &rules));
        let minutes = minutes.ok_or_else(|| refused(&Message::MinutesUnknown, "minutes", "minutes"))?;
        let booked = Booked { client, kind, day, at, minutes, predicted: said.is_none(), person, chair };
        let id = AppointmentId(new_id());
        let event = decide_booked(&diary, id, booked, because, world.on).map_err(DeskFault::Refused)?;
        // With her stream as it was read: nobody is booked who is being erased.
        let act = Act::default().diary_at(diary.version, vec![event]).client(client, her.version, vec![]);
        Ok(Decided::new(act, Stream::Diary)
            .with("appointment", id.to_string())
            .with("minutes", minutes)
            .with("person", person.to_string())
            .with("version", diary.version + 1))
    }

    /// Moves an appointment; what is left out stays.
    pub(super) async fn appointment_moved(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (id, mut diary) = self.appointment_of(line).await?;
        let day: Option<Day> = line.asked("day")?;
        let person = match line.asked("person")? {
            Some(person) => Some(self.known_person(person).await?),
            None => None,
        };
        let moved = Moved { day, at: line.asked("at")?, minutes: line.asked("minutes")?, person };
        if day.is_some_and(|day| !diary.holds(day)) {
            diary = Arc::new(self.folded(DiaryBook::whole()).await?);
        }
        let events = decide_moved(&diary, id, moved, line.asked("because")?, world.on).map_err(DeskFault::Refused)?;
        let stood = diary.appointments.get(&id).ok_or(DeskFault::Unknown("appointment"))?;
        let minutes = moved.of(&stood.booked).minutes;
        Ok(self.diary_act(id, &diary, events).with("minutes", minutes))
    }

    /// Cancels an appointment.
    pub(super) async fn appointment_cancelled(&self, line: &mut Line) -> Result<Decided, Stop> {
        let (id, diary) = self.appointment_of(line).await?;
        let event = decide_cancelled(&diary, id, line.asked("reason")?).map_err(DeskFault::Refused)?;
        let minutes = diary.appointments.get(&id).map_or(0, |held: &Appointment| held.booked.minutes);
        Ok(self.diary_act(id, &diary, vec![event]).with("minutes", minutes))
    }

    fn diary_act(&self, id: AppointmentId, diary: &DiaryBook, events: Vec<DiaryEvent>) -> Decided {
        let version = diary.version + events.len() as u64;
        let act = Act::default().diary_at(diary.version, events);
        Decided::new(act, Stream::Diary).with("appointment", id.to_string()).with("version", version)
    }

    /// The appointment that a line is about, and a diary that holds it.
    async fn appointment_of(&self, line: &mut Line) -> Result<(AppointmentId, Arc<DiaryBook>), Stop> {
        let id: AppointmentId = line.needed("appointment")?;
        let client: Option<ClientId> = line.asked("client")?;
        let mut diary = self.diary_book().await?;
        line.still("the diary", diary.version)?;
        if !diary.appointments.contains_key(&id) {
            diary = Arc::new(self.folded(DiaryBook::whole()).await?);
        }
        let held = diary.appointments.get(&id).ok_or(DeskFault::Unknown("appointment"))?;
        if client.is_some_and(|client| client != held.booked.client) {
            // Of one who was erased meanwhile no record is kept that the other could be.
            let kept = match self.client_book(held.booked.client, None).await {
                Ok(book) => book.same.kept,
                Err(DeskFault::Unknown(_)) => None,
                Err(fault) => return Err(fault.into()),
            };
            if client != kept {
                return Err(refused(&Message::AppointmentOfAnother, "client", "appointment"));
            }
        }
        Ok((id, diary))
    }
}
