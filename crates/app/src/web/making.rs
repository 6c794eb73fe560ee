//! Plans in the making: computed beside the event loop, one at a time, and kept
//! once they are there.

use super::{Chair, colour};
use super::clients::read_facts;
use super::{cover, house};
use super::page::Trouble;
use crate::desk::{self, PlanInput, Planned};
use craft::coverage::THRESHOLD;
use craft::matching::Ring;
use measure::RuleBook;
use salon::Fault;
use salon::client::ClientFile;
use salon::make::ground::State;
use salon::plan::Plan;
use salon::stock::Order;
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::{ClientId, NewPlan, PlanId};
use tokio::sync::{Semaphore, watch};
use uuid::Uuid;

/// The seed of every plan made from the pages, so that the same facts give the
/// same plan.
pub const SEED: u64 = 1;
/// Finished work that is remembered for the page that waits for it.
const MOST_REMEMBERED: usize = 64;

/// A plan with everything it was made from, as it is kept.
#[derive(Serialize, Deserialize)]
pub struct KeptPlan {
    /// Her facts with the house's pieces and prices.
    pub client: ClientFile,
    /// The ring as it was.
    pub ring: Option<Ring>,
    /// The stock as it was.
    pub shelf: Option<Order>,
    /// The plan.
    pub plan: Plan,
    /// The reading of her ends it was made with.
    #[serde(default)]
    pub read: Option<colour::ForPlan>,
    /// How much hair over a bond was asked, where the salon asks its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_depth: Option<f64>,
    /// The plan it was made from, and how: moved by hand, or a way on taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<MadeFrom>,
}

/// What a plan was made from, where it was not her facts alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MadeFrom {
    /// The plan before.
    pub plan: String,
    /// The way on that was taken, in words; nothing when sites were set by hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
}

impl KeptPlan {
    /// The rules it was made with.
    pub fn book(&self) -> RuleBook {
        let mut book = RuleBook::standard();
        if let Some(depth) = self.own_depth {
            // It was inside the rule's range when the plan was made.
            let _ = book.set(&THRESHOLD, depth);
        }
        book
    }

    /// The plan and its input again, as the desk wants them for the papers.
    pub fn reopened(self, scalp: Option<String>, seed: u64) -> (Planned, PlanInput) {
        let rules = self.book();
        let reading = self.read.map(|read| read.reading);
        let input = PlanInput { client: self.client, ring: self.ring, shelf: self.shelf, reading, seed, state: State::default(), rules };
        (Planned { plan: self.plan, scalp_obj: scalp }, input)
    }
}

/// How far one plan has come.
#[derive(Clone)]
pub enum Progress {
    /// It is being computed.
    Working,
    /// It is kept.
    Kept(PlanId),
    /// Her facts do not make a plan.
    Faulty(Arc<Vec<Fault>>),
    /// The program failed; the cause was logged.
    Failed,
}

/// One plan in the making.
#[derive(Clone)]
pub struct Job {
    /// Its address.
    pub id: Uuid,
    /// Whose.
    pub client: ClientId,
    version: i64,
    progress: watch::Receiver<Progress>,
}

impl Job {
    /// How far it is.
    pub fn progress(&self) -> Progress {
        self.progress.borrow().clone()
    }

    /// Waits until it is done, for so long at most.
    pub async fn wait(&mut self, most: std::time::Duration) -> Progress {
        let done = self.progress.wait_for(|progress| !matches!(progress, Progress::Working));
        match tokio::time::timeout(most, done).await {
            Ok(Ok(progress)) => progress.clone(),
            Ok(Err(_)) => Progress::Failed,
            Err(_) => Progress::Working,
        }
    }
}

/// All that is in the making or was just made.
pub struct Making {
    jobs: Mutex<VecDeque<Job>>,
    one_at_a_time: Semaphore,
}

impl Default for Making {
    fn default() -> Self {
        Self { jobs: Mutex::default(), one_at_a_time: Semaphore::new(1) }
    }
}

impl Making {
    /// The job at an address.
    pub fn job(&self, id: Uuid) -> Option<Job> {
        self.jobs.lock().unwrap_or_else(PoisonError::into_inner).iter().find(|job| job.id == id).cloned()
    }
}

/// Starts a plan from a client's facts as they are; a second tap joins the first.
pub async fn start(chair: &Chair, client: ClientId) -> Result<Job, Trouble> {
    let found = chair.salon.client(client).await?;
    let house = house::house(&chair.salon).await?.value;
    let ring = house::ring(&chair.salon).await?.value;
    let shelf = house::stock(&chair.salon).await?.value;
    let file = house.complete(&read_facts(&found.facts)?);
    let read = colour::for_plan(&chair.salon, &file).await?;
    let ring = colour::ring_of(&chair.salon, read.as_ref().map(|read| read.id.as_str()), ring).await?;
    let input = PlanInput {
        client: file,
        ring: (!ring.shades.is_empty()).then_some(ring),
        shelf,
        reading: read.as_ref().map(|read| read.reading.clone()),
        seed: SEED,
        state: State::default(),
        rules: cover::book(&chair.salon).await?,
    };
    let (tell, progress) = watch::channel(Progress::Working);
    let job = Job { id: Uuid::now_v7(), client, version: found.version, progress };
    {
        let mut jobs = chair.making.jobs.lock().unwrap_or_else(PoisonError::into_inner);
        let same = |other: &&Job| {
            other.client == client && other.version == job.version && matches!(other.progress(), Progress::Working)
        };
        if let Some(working) = jobs.iter().find(same) {
            return Ok(working.clone());
        }
        jobs.push_back(job.clone());
        if jobs.len() > MOST_REMEMBERED {
            jobs.pop_front();
        }
    }
    let (chair, version) = (chair.clone(), job.version);
    tokio::spawn(async move {
        let outcome = make(&chair, client, version, input, Kept { read, from: None }, |_| Vec::new()).await;
        // The page that waited may be gone; the plan is kept all the same.
        let _ = tell.send(outcome);
    });
    Ok(job)
}

/// Makes a new plan from what a kept one was made from, around sandwiches that
/// stand; answers where it is kept, or what is wrong.
///
/// *Meaning*: it is kept only when `against` has nothing to say of it.
pub async fn around(
    chair: &Chair,
    plan: &store::Plan,
    kept: KeptPlan,
    state: State,
    against: impl FnOnce(&Plan) -> Vec<Fault>,
) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    // What was taken before is still in it.
    let taken = kept.from.as_ref().and_then(|from| from.taken.clone());
    let beside = Kept { read: kept.read.clone(), from: Some(MadeFrom { plan: plan.id.to_string(), taken }) };
    let (_, mut input) = kept.reopened(None, plan.seed);
    input.state = state;
    ended(make(chair, plan.client, plan.facts_version, input, beside, against).await)
}

/// Makes a new plan from what a kept one was made from, with her facts changed
/// for this plan alone; `says` tells how.
pub async fn taken(chair: &Chair, plan: &store::Plan, kept: KeptPlan, changed: ClientFile, says: String) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    let before = kept.from.as_ref().and_then(|from| from.taken.clone());
    let says = before.map_or_else(|| says.clone(), |before| format!("{before}; {says}"));
    let beside = Kept { read: kept.read.clone(), from: Some(MadeFrom { plan: plan.id.to_string(), taken: Some(says) }) };
    let (_, mut input) = kept.reopened(None, plan.seed);
    input.client = changed;
    ended(make(chair, plan.client, plan.facts_version, input, beside, |_| Vec::new()).await)
}

fn ended(progress: Progress) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    match progress {
        Progress::Kept(id) => Ok(Ok(id)),
        Progress::Faulty(faults) => Ok(Err(faults.to_vec())),
        Progress::Working | Progress::Failed => Err(Trouble::Ours("a plan failed".to_owned())),
    }
}

/// What is kept beside a plan and its input.
struct Kept {
    read: Option<colour::ForPlan>,
    from: Option<MadeFrom>,
}

async fn make(
    chair: &Chair,
    client: ClientId,
    version: i64,
    input: PlanInput,
    beside: Kept,
    against: impl FnOnce(&Plan) -> Vec<Fault>,
) -> Progress {
    let Ok(_turn) = chair.making.one_at_a_time.acquire().await else { return Progress::Failed };
    let computed = tokio::task::spawn_blocking(move || desk::plan(&input).map(|planned| (planned, input))).await;
    let (planned, input) = match computed {
        Ok(Ok(done)) => done,
        Ok(Err(faults)) => return Progress::Faulty(Arc::new(faults)),
        Err(error) => {
            tracing::error!(%error, "a plan could not be computed");
            return Progress::Failed;
        }
    };
    let against = against(&planned.plan);
    if !against.is_empty() {
        return Progress::Faulty(Arc::new(against));
    }
    let own_depth = input.rules.is_own(&THRESHOLD).then(|| input.rules.value(&THRESHOLD));
    let Kept { read, from } = beside;
    let kept = KeptPlan { client: input.client, ring: input.ring, shelf: input.shelf, plan: planned.plan, read, own_depth, from };
    let document = match serde_json::to_string(&kept) {
        Ok(document) => document,
        Err(error) => {
            tracing::error!(%error, "a plan could not be written");
            return Progress::Failed;
        }
    };
    let plan = NewPlan { client, facts_version: version, seed: input.seed, document, scalp: planned.scalp_obj };
    match chair.salon.keep_plan(&plan).await {
        Ok(id) => Progress::Kept(id),
        Err(error) => {
            tracing::error!(%error, "a plan could not be kept");
            Progress::Failed
        }
    }
}
