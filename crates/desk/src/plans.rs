//! Plans: keeping one by what it was made from, and putting it together again.

use crate::house::SeenBonds;
use crate::packed::{packed, unpacked};
use crate::words::Message;
use crate::written::{new_id, stream_of};
use crate::{DeskFault, ForPlan, KeptPlan, MadeFrom, Salon};
use craft::matching::Ring;
use craft::suitability::judge;
use measure::RuleBook;
use salon::book::{
    BlobRef, ClientBook, ClientEvent, ClientId, Day, HealthAnswers, HealthEvent, HealthId, KeptReading, PlanId, PlanJudged, PlanState,
    ReadingId, SitePlaced, World, decide_placed, order,
};
use salon::client::ClientFile;
use salon::make::take;
use salon::plan::Lever;
use salon::quote::Quote;
use serde::{Deserialize, Serialize};
use store::book::{Appended, BlobId, Once, Stream};
use uuid::Uuid;

/// A plan to be kept.
#[derive(Debug, Clone)]
pub struct NewPlan {
    /// Whose.
    pub client: ClientId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// The seed of the search.
    pub seed: u64,
    /// The plan and what it was made from, as far as it is not her facts, the ring or the shelf.
    pub kept: KeptPlan,
    /// The fitted scalp, where there is one.
    pub scalp: Option<String>,
}

/// A plan as it was made.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Which.
    pub id: PlanId,
    /// Whose.
    pub client: ClientId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// The seed of the search.
    pub seed: u64,
    /// The fitted scalp, where there is one.
    pub scalp: Option<String>,
    /// When it was made, ms since 1970.
    pub made_ms: i64,
    /// The day the set went in, `YYYY-MM-DD`, once it did.
    pub placed_on: Option<String>,
    /// How often that day was said or changed.
    pub days_said: u32,
    /// When it was said last, ms since 1970; when the plan was made before that.
    pub said_ms: i64,
}

/// A plan as a line of a client's page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanLine {
    /// Which.
    pub id: PlanId,
    /// The version of her facts it was made from.
    pub facts_version: i64,
    /// When it was made, ms since 1970.
    pub made_ms: i64,
    /// The day the set went in, once it did.
    pub placed_on: Option<String>,
}

/// What is kept of a plan beside its event.
#[derive(Serialize, Deserialize)]
struct Document {
    plan: salon::plan::Plan,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    scalp: Option<String>,
    /// The ring as a phone read it, where the plan took its shades from that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ring: Option<Ring>,
    /// What a plan of the earlier records was made from: they named no versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    earlier: Option<Box<KeptPlan>>,
}

/// What keeping a plan writes.
pub(crate) struct PlanEvents {
    /// Which plan.
    pub id: PlanId,
    /// That it was made.
    pub made: ClientEvent,
    /// How it was judged from her health answers, in their document.
    pub judged: Option<(HealthId, HealthEvent)>,
}

/// Said of a plan whose health answers are gone.
const HEALTH_GONE: &str = "What she had answered about her health when this plan was made is kept no longer, and neither is what followed from it. \
     Make a new plan before you work from this one.";

/// Takes out of a plan what repeats her health answers, leaving what follows from
/// the rest of her file; what was taken out, for her health document.
fn judged_apart(id: PlanId, plan: &mut salon::plan::Plan, mut file: ClientFile, rules: &RuleBook) -> HealthEvent {
    let _answers = HealthAnswers::taken_from(&mut file, crate::today());
    // Her file was whole when the plan was made; what is left of it still is.
    let rest = judge(&file.check().map(|facts| facts.answers).unwrap_or_default(), rules);
    let faults = if plan.verdict.verdict.allows_a_plan() { Vec::new() } else { std::mem::take(&mut plan.faults) };
    plan.limits = rest.limits.clone();
    let judgement = std::mem::replace(&mut plan.verdict, rest);
    HealthEvent::PlanJudged { plan: id, judgement: Box::new(judgement), faults, answers: None }
}

/// Puts back into a plan how it was judged.
fn judged_again(plan: &mut salon::plan::Plan, judged: &PlanJudged) {
    plan.limits = judged.judgement.limits.clone();
    plan.verdict = judged.judgement.clone();
    plan.faults.splice(0..0, judged.faults.iter().cloned());
}

/// What later visits ask of a plan's sandwiches.
fn placed_sites(plan: &salon::plan::Plan) -> Vec<SitePlaced> {
    let of = |site: &salon::plan::SitePlan| SitePlaced {
        site: site.site,
        up_mm: site.above_nape.to_mm(),
        along_mm: site.along.to_mm(),
        width_mm: site.slice_width.to_mm(),
        cut: site.piece.cut,
        shades: [site.piece.shade.clone(), site.piece.under_shade.clone().unwrap_or_else(|| site.piece.shade.clone())],
        length_mm: site.piece.length.to_mm(),
        setting: site.setting,
    };
    plan.sites.iter().map(of).collect()
}

/// The day on which a plan's set is due, and the window round it, from the day it goes in.
fn retape_days(plan: &salon::plan::Plan) -> Option<[u32; 3]> {
    plan.retape.as_ref().map(|retape| [retape.due, retape.window[0], retape.window[1]])
}

fn line_of_plan(book: &ClientBook, plan: &PlanState) -> PlanLine {
    PlanLine {
        id: plan.id,
        facts_version: facts_version(book, plan),
        made_ms: plan.made_ms,
        placed_on: plan.placed_on.map(|day| day.to_string()),
    }
}

/// How many changes of her facts came before a plan.
fn facts_version(book: &ClientBook, plan: &PlanState) -> i64 {
    book.facts_at.iter().filter(|at| **at <= plan.from.client).count() as i64
}

impl Salon {
    /// Keeps a plan by the versions it was made from.
    ///
    /// *Errors*: the client is not there; the records.
    pub async fn keep_plan(&self, plan: &NewPlan) -> Result<PlanId, DeskFault> {
        let world = self.world_now().await?;
        let (id, _) = self.keep_plan_in(plan, &world, None).await?;
        Ok(id)
    }

    pub(crate) async fn keep_plan_in(
        &self,
        plan: &NewPlan,
        world: &World,
        once: Option<Once>,
    ) -> Result<(PlanId, Vec<Appended>), DeskFault> {
        let book = self.client_book(plan.client, None).await?;
        let PlanEvents { id, made, judged } = self.plan_events(&book, plan).await?;
        let (_, mut act) = self.act_of(plan.client, book, vec![made], world);
        if let Some((document, event)) = judged {
            act = act.of_health(document, event);
        }
        Ok((id, self.keep(world, act, once).await?))
    }

    /// A plan's events; its document is kept already.
    pub(crate) async fn plan_events(&self, book: &ClientBook, plan: &NewPlan) -> Result<PlanEvents, DeskFault> {
        let id = PlanId(new_id());
        let house = self.house_book().await?;
        let health = match book.health {
            Some(document) => self.book.version(crate::written::health_stream(document)).await?,
            None => 0,
        };
        let at =
            usize::try_from(plan.facts_version).ok().and_then(|count| count.checked_sub(1)).and_then(|at| book.facts_at.get(at)).copied();
        let kept = &plan.kept;
        let from = salon::book::MadeFrom {
            client: at.unwrap_or(book.version),
            health,
            house: house.version,
            shelf: self.book.version(Stream::Shelf).await?,
            reading: kept.read.as_ref().and_then(|read| read.id.parse().ok()),
            own_depth: kept.own_depth,
            seed: plan.seed,
            levers: kept.levers.clone(),
            // Visits are in it that came after her facts changed last.
            visits: if book.year.visits.is_empty() { 0 } else { book.version },
            before: kept.from.as_ref().and_then(|from| from.plan.parse().ok()),
            says: kept.from.as_ref().and_then(|from| from.taken.clone()),
        };
        let ring = kept.ring.clone().filter(|ring| *ring != house.ring.0);
        let mut without = kept.plan.clone();
        let judged = book.health.map(|document| (document, judged_apart(id, &mut without, kept.client.clone(), &kept.book())));
        let document = Document { plan: without, scalp: plan.scalp.clone(), ring, earlier: None };
        let blob = self.book.put_blob(stream_of(plan.client), &packed(&document, "a plan")?).await?;
        let event = ClientEvent::PlanMade {
            plan: id,
            from,
            sites: placed_sites(&kept.plan),
            retape_days: retape_days(&kept.plan),
            blob: BlobRef(blob.0.as_u128()),
        };
        Ok(PlanEvents { id, made: event, judged })
    }

    /// A plan of the earlier records, with all that it embedded.
    pub(crate) async fn keep_earlier_plan(
        &self,
        (client, made_on, health): (ClientId, Day, Option<HealthId>),
        mut kept: KeptPlan,
        (id, seed, scalp, facts_at): (PlanId, u64, Option<String>, u64),
    ) -> Result<PlanEvents, DeskFault> {
        let (sites, retape_days) = (placed_sites(&kept.plan), retape_days(&kept.plan));
        let from = salon::book::MadeFrom { client: facts_at, seed, own_depth: kept.own_depth, ..Default::default() };
        let judged = health.map(|document| {
            let rules = kept.book();
            let answers = HealthAnswers::taken_from(&mut kept.client, made_on);
            let mut event = judged_apart(id, &mut kept.plan, kept.client.clone(), &rules);
            if let HealthEvent::PlanJudged { answers: of_then, .. } = &mut event {
                *of_then = Some(Box::new(answers));
            }
            (document, event)
        });
        let document = Document { plan: kept.plan.clone(), scalp, ring: None, earlier: Some(Box::new(kept)) };
        let blob = self.book.put_blob(stream_of(client), &packed(&document, "a plan")?).await?;
        let made = ClientEvent::PlanMade { plan: id, from, sites, retape_days, blob: BlobRef(blob.0.as_u128()) };
        Ok(PlanEvents { id, made, judged })
    }

    /// What a plan costs, as it was made; her health is not asked for that.
    ///
    /// *Errors*: the records.
    pub(crate) async fn quote_of(&self, plan: &PlanState) -> Result<Option<Quote>, DeskFault> {
        Ok(unpacked::<Document>(&self.book.blob(BlobId(Uuid::from_u128(plan.blob.0))).await?, "a plan")?.plan.quote)
    }

    /// A plan as it was made, with all it was made from.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn plan(&self, id: PlanId) -> Result<(Plan, KeptPlan), DeskFault> {
        let client = self.client_of_plan(id).await?;
        let book = self.client_book(client, None).await?;
        let state = book.plan(id).ok_or(DeskFault::Unknown("plan"))?;
        let document: Document = unpacked(&self.book.blob(BlobId(Uuid::from_u128(state.blob.0))).await?, "a plan")?;
        let plan = Plan {
            id,
            client,
            facts_version: facts_version(&book, state),
            seed: state.from.seed,
            scalp: document.scalp,
            made_ms: state.made_ms,
            placed_on: state.placed_on.map(|day| day.to_string()),
            days_said: state.days_said,
            said_ms: state.said_ms,
        };
        let then = self.client_book(client, Some(state.from.client.max(1))).await?;
        let health = match then.health {
            Some(document) => Some(self.health_of(document, "show plan", Some(state.from.health)).await?),
            None => None,
        };
        let made_on = state.made_on;
        let mut shown = document.plan;
        match health.as_ref().map(|health| health.judged(id)) {
            Some(Some(judged)) => judged_again(&mut shown, judged),
            Some(None) if health.as_ref().is_some_and(|health| health.version == 0) => shown.warnings.insert(0, HEALTH_GONE.to_owned()),
            _ => {}
        }
        let kept = match document.earlier {
            Some(earlier) => {
                let mut kept = KeptPlan { plan: shown, ..*earlier };
                if let Some(answers) = health.as_ref().and_then(|health| health.judged(id)).and_then(|judged| judged.answers.as_ref()) {
                    answers.put_into(&mut kept.client, made_on);
                }
                kept
            }
            None => {
                let answers = health.and_then(|health| health.answers);
                let kept = self.made_from(client, (&book, &then), state, (shown, made_on, answers)).await?;
                KeptPlan { ring: document.ring.or(kept.ring), ..kept }
            }
        };
        Ok((plan, kept))
    }

    /// A plan with what it was made from, read at the versions it names.
    async fn made_from(
        &self,
        client: ClientId,
        (book, then): (&ClientBook, &ClientBook),
        state: &PlanState,
        (plan, made_on, health): (salon::plan::Plan, Day, Option<HealthAnswers>),
    ) -> Result<KeptPlan, DeskFault> {
        let from = &state.from;
        let house = self.house_at(from.house).await?;
        let shelf = self.lots_at(from.shelf).await?;
        let visits = match from.visits {
            0 => None,
            version => Some(self.client_book(client, Some(version)).await?),
        };
        let facts = then.facts.file_on(made_on, health.as_ref());
        let mut file = house.house.0.complete(&visits.as_ref().map_or_else(|| facts.clone(), |book| book.with_last_visit(facts.clone())));
        for lever in &from.levers {
            // A lever that is not known, or moves nothing, any more leaves the file as it is.
            file = lever.parse().ok().and_then(|lever: Lever| take(&file, &[lever])).unwrap_or(file);
        }
        let before = from.before.map(|plan| MadeFrom { plan: plan.to_string(), taken: from.says.clone() });
        Ok(KeptPlan {
            client: file,
            ring: (!house.ring.0.shades.is_empty()).then(|| house.ring.0.clone()),
            shelf: order(&house, &shelf.on_hand),
            plan,
            read: from.reading.and_then(|reading| for_plan(client, book, reading)),
            own_depth: from.own_depth,
            from: before,
            levers: from.levers.clone(),
            hers: visits.as_ref().map(|book| book.year.pieces.own_hair(&RuleBook::standard())).unwrap_or_default(),
            observed: visits.map(|book| book.year.observed).unwrap_or_default(),
        })
    }

    /// A client's plans, newest first.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn plans_of(&self, client: ClientId) -> Result<Vec<PlanLine>, DeskFault> {
        let book = self.client_book(client, None).await?;
        Ok(book.plans.iter().rev().map(|plan| line_of_plan(&book, plan)).collect())
    }

    /// Sets the day on which a plan's set went in; none: it did not.
    ///
    /// *Errors*: no such plan; no day; the records.
    pub async fn place_plan(&self, id: PlanId, day: Option<&str>) -> Result<(), DeskFault> {
        let day = day.map(str::parse::<Day>).transpose().map_err(|cause| {
            DeskFault::Refused(vec![salon::Fault::of(&Message::DayNone { cause: cause.to_string() }, "placed on", "day")])
        })?;
        let world = self.world_now().await?;
        self.place_plan_in(id, day, &world, None).await?;
        Ok(())
    }

    /// Sets the day on which a plan's set went in, in a world.
    ///
    /// *Errors*: as [`Salon::place_plan`].
    pub async fn place_plan_in(&self, id: PlanId, day: Option<Day>, world: &World, once: Option<Once>) -> Result<Vec<Appended>, DeskFault> {
        let client = self.client_of_plan(id).await?;
        let book = self.client_book(client, None).await?;
        let events = decide_placed(&book, id, day)?;
        self.keep_of(client, book, events, world, once).await
    }

    /// What a plan of a client is made from, as it is in force on a day.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn plan_input(&self, client: ClientId, on: Day, seed: u64) -> Result<(crate::PlanInput, Option<ForPlan>, i64), DeskFault> {
        let book = self.client_book(client, None).await?;
        let (health, _) = self.health(&book, "make plan", None).await?;
        let house = self.house_book().await?;
        let shelf = self.shelf_book().await?;
        let file = house.house.0.complete(&book.with_last_visit(book.facts.file_on(on, health.as_ref())));
        let read = named_reading(&file).and_then(|reading| for_plan(client, &book, reading));
        let input = crate::PlanInput {
            client: file,
            ring: (!house.ring.0.shades.is_empty()).then(|| house.ring.0.clone()),
            shelf: order(&house, &shelf.on_hand),
            reading: read.as_ref().map(|read| read.reading.clone()),
            seed,
            observed: book.year.observed.clone(),
            hers: book.year.pieces.own_hair(&RuleBook::standard()),
            state: salon::make::head_model::DecidedLayout::default(),
            rules: SeenBonds::of(&house).book(),
        };
        Ok((input, read, book.facts_version as i64))
    }
}

/// The folder that a client's file names where a kept reading is meant.
const READING: &str = "readings/";

/// The reading that a client's file names.
fn named_reading(file: &ClientFile) -> Option<ReadingId> {
    let named = file.colour.as_ref()?.photo.as_deref()?.strip_prefix(READING)?;
    named.split_once('.').map_or(named, |(id, _)| id).parse().ok()
}

/// A reading of hers as plans use it; nothing when it was an instrument's, or another client's.
fn for_plan(client: ClientId, book: &ClientBook, id: ReadingId) -> Option<ForPlan> {
    let found = crate::photos::readings(client, book).ok()?.into_iter().find(|reading| reading.id == id)?;
    match found.kept {
        KeptReading::Photo { reading, .. } => Some(ForPlan { id: id.to_string(), seen_ms: found.seen_ms, reading: *reading }),
        KeptReading::Instrument { .. } => None,
    }
}
