//! What is held in memory between the questions about a plan: plans in the
//! making, heads laid out, papers that were set, ways on that were looked for.

use crate::web::frame::at_hand::AtHand;
use desk::{ClientId, PlanId};
use salon::Fault;
use salon::make::head_model::HeadModel;
use salon::plan::WayPlan;
use std::collections::VecDeque;
use std::num::NonZero;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::{Semaphore, watch};
use uuid::Uuid;

/// Finished work that is remembered for the page that waits for it.
pub const MOST_REMEMBERED: usize = 64;

/// How far one plan has come.
#[derive(Clone)]
pub enum Progress {
    /// It is being computed.
    Working,
    /// It is kept.
    Kept(PlanId),
    /// Her facts do not make a plan.
    Faulty(Arc<Vec<Fault>>),
    /// It is still being computed, longer than anybody should wait for it.
    TooLong,
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
    pub version: i64,
    pub progress: watch::Receiver<Progress>,
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
    pub jobs: Mutex<VecDeque<Job>>,
    pub lanes: Arc<Semaphore>,
}

impl Default for Making {
    fn default() -> Self {
        let cores = std::thread::available_parallelism().map_or(LANES.0, NonZero::get);
        Self { jobs: Mutex::default(), lanes: Arc::new(Semaphore::new(cores.clamp(LANES.0, LANES.1))) }
    }
}

/// Plans that are computed at a time, at least and at most: one for each core.
pub const LANES: (usize, usize) = (2, 4);

impl Making {
    /// Computes beside the event loop as soon as a lane is free.
    ///
    /// *Meaning*: the lane belongs to the work, not to who waits for it, so that
    /// those who left do not make room that is not there.
    ///
    /// *Errors*: the work failed.
    pub async fn in_lane<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> Result<T, String> {
        let lane = self.lanes.clone().acquire_owned().await.map_err(|error| error.to_string())?;
        let in_its_lane = move || {
            let _lane = lane;
            work()
        };
        tokio::task::spawn_blocking(in_its_lane).await.map_err(|error| error.to_string())
    }

    /// The job at an address.
    pub fn job(&self, id: Uuid) -> Option<Job> {
        self.jobs.lock().unwrap_or_else(PoisonError::into_inner).iter().find(|job| job.id == id).cloned()
    }
}

/// The heads that were looked at last, laid out for questions.
pub type LaidOut = AtHand<PlanId, HeadModel, 4>;

/// A plan's papers by name.
pub type PaperFiles = Vec<(String, Vec<u8>)>;

/// Which papers: the plan, and the day that is written on them.
pub type PaperSet = (PlanId, Option<String>);

/// The papers that were set last, of a few plans.
pub type Papers = AtHand<PaperSet, PaperFiles, 4>;

/// The ways on that were looked for last.
pub type Ways = AtHand<PlanId, Vec<WayPlan>, 16>;
