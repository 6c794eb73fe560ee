//! Plans in the making: computed beside the event loop, a few at a time, and kept
//! once they are there.

use super::held::{Job, MOST_REMEMBERED, Progress};
use crate::web::AppState;
use crate::web::frame::page::Trouble;
use craft::coverage::THRESHOLD;
use desk::{ClientId, ForPlan, KeptPlan, MadeFrom, NewPlan, PlanId, PlanInput};
use salon::Fault;
use salon::client::ClientFile;
use salon::make::head_model::DecidedLayout;
use salon::plan::{Lever, Plan};
use std::sync::{Arc, PoisonError};
use std::time::Duration;
use tokio::sync::watch;
use uuid::Uuid;

/// The seed of every plan made from the pages, so that the same facts give the
/// same plan.
pub const SEED: u64 = 1;

/// How long somebody is kept waiting for one plan, its turn included.
pub const LONGEST_PLAN: Duration = Duration::from_secs(20);

/// Starts a plan from a client's facts as they are; a second tap joins the first.
pub async fn start(app: &AppState, client: ClientId) -> Result<Job, Trouble> {
    let (mut input, read, version) = app.salon.plan_input(client, desk::today(), SEED).await?;
    let ring =
        crate::web::colour::phones::ring_of(&app.salon, read.as_ref().map(|read| read.id.as_str()), input.ring.unwrap_or_default()).await?;
    input.ring = (!ring.shades.is_empty()).then_some(ring);
    let (tell, progress) = watch::channel(Progress::Working);
    let job = Job { id: Uuid::now_v7(), client, version, progress };
    {
        let mut jobs = app.making.jobs.lock().unwrap_or_else(PoisonError::into_inner);
        let same = |other: &&Job| {
            other.client == client && other.version == job.version && matches!(other.progress(), Progress::Working | Progress::TooLong)
        };
        if let Some(working) = jobs.iter().find(same) {
            return Ok(working.clone());
        }
        jobs.push_back(job.clone());
        if jobs.len() > MOST_REMEMBERED {
            jobs.pop_front();
        }
    }
    let (app, version) = (app.clone(), job.version);
    tokio::spawn(async move {
        let work = make(&app, client, version, input, Kept { read, from: None, levers: Vec::new() }, |_| Vec::new());
        told_in_time(&tell, work).await;
    });
    Ok(job)
}

/// Tells how a plan ends, and before that when it takes too long to be waited for.
async fn told_in_time(tell: &watch::Sender<Progress>, work: impl Future<Output = Progress>) {
    tokio::pin!(work);
    let outcome = match tokio::time::timeout(LONGEST_PLAN, &mut work).await {
        Ok(outcome) => outcome,
        Err(_) => {
            tracing::warn!("a plan takes longer than it is waited for");
            let _ = tell.send(Progress::TooLong);
            work.await
        }
    };
    // The page that waited may be gone; the plan is kept all the same.
    let _ = tell.send(outcome);
}

/// Why nobody waits any longer.
pub fn too_long() -> Fault {
    let what = format!("this plan takes longer than {} seconds", LONGEST_PLAN.as_secs());
    Fault::new(what, "whole head", "plan-deadline", "It is still being worked on: look at her page in a while.")
}

/// Why nobody waits any longer for a plan that was only to be looked at.
pub fn too_long_to_compare() -> Fault {
    Fault { cure: "Change less at once, or try again when fewer plans are being made.".to_owned(), ..too_long() }
}

/// Makes a new plan from what a kept one was made from, around sandwiches that
/// stand; answers where it is kept, or what is wrong.
///
/// *Meaning*: it is kept only when `against` has nothing to say of it.
pub async fn around(
    app: &AppState,
    plan: &desk::Plan,
    kept: KeptPlan,
    state: DecidedLayout,
    against: impl FnOnce(&Plan) -> Vec<Fault> + Send + 'static,
) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    // What was taken before is still in it.
    let taken = kept.from.as_ref().and_then(|from| from.taken.clone());
    let beside = Kept { read: kept.read.clone(), from: Some(MadeFrom { plan: plan.id.to_string(), taken }), levers: kept.levers.clone() };
    let (_, mut input) = kept.reopened(None, plan.seed);
    input.state = state;
    made_in_time(app, plan, input, beside, against).await
}

/// Makes a new plan from what a kept one was made from, with her facts changed
/// for this plan alone; `says` tells how.
pub async fn taken(
    app: &AppState,
    plan: &desk::Plan,
    kept: KeptPlan,
    (changed, levers): (ClientFile, &[Lever]),
    says: String,
) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    let before = kept.from.as_ref().and_then(|from| from.taken.clone());
    let says = before.map_or_else(|| says.clone(), |before| format!("{before}; {says}"));
    let levers = kept.levers.iter().cloned().chain(levers.iter().map(Lever::to_string)).collect();
    let beside = Kept { read: kept.read.clone(), from: Some(MadeFrom { plan: plan.id.to_string(), taken: Some(says) }), levers };
    let (_, mut input) = kept.reopened(None, plan.seed);
    input.client = changed;
    made_in_time(app, plan, input, beside, |_| Vec::new()).await
}

/// Makes a plan while somebody waits for it; one that takes too long is kept when it is done.
async fn made_in_time(
    app: &AppState,
    plan: &desk::Plan,
    input: PlanInput,
    beside: Kept,
    against: impl FnOnce(&Plan) -> Vec<Fault> + Send + 'static,
) -> Result<Result<PlanId, Vec<Fault>>, Trouble> {
    let (app, client, version) = (app.clone(), plan.client, plan.facts_version);
    let (tell, mut progress) = watch::channel(Progress::Working);
    tokio::spawn(async move { told_in_time(&tell, make(&app, client, version, input, beside, against)).await });
    let told = progress.wait_for(|progress| !matches!(progress, Progress::Working)).await.map(|progress| progress.clone());
    match told.unwrap_or(Progress::Failed) {
        Progress::TooLong => Ok(Err(vec![too_long()])),
        Progress::Kept(id) => Ok(Ok(id)),
        Progress::Faulty(faults) => Ok(Err(faults.to_vec())),
        Progress::Working | Progress::Failed => Err(Trouble::Ours("a plan failed".to_owned())),
    }
}

/// What is kept beside a plan and its input.
struct Kept {
    read: Option<ForPlan>,
    from: Option<MadeFrom>,
    levers: Vec<String>,
}

async fn make(
    app: &AppState,
    client: ClientId,
    version: i64,
    input: PlanInput,
    beside: Kept,
    against: impl FnOnce(&Plan) -> Vec<Fault>,
) -> Progress {
    let computed = app.making.in_lane(move || desk::plan(&input).map(|planned| (planned, input))).await;
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
    let Kept { read, from, levers } = beside;
    let kept = KeptPlan {
        client: input.client,
        ring: input.ring,
        shelf: input.shelf,
        plan: planned.plan,
        read,
        own_depth,
        from,
        levers,
        observed: input.observed,
        hers: input.hers,
    };
    let plan = NewPlan { client, facts_version: version, seed: input.seed, kept, scalp: planned.scalp_obj };
    match app.salon.keep_plan(&plan).await {
        Ok(id) => Progress::Kept(id),
        Err(error) => {
            tracing::error!(%error, "a plan could not be kept");
            Progress::Failed
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::plan::held::{LANES, Making};
    use crate::web::tests::asking::Asking;
    use std::sync::Mutex;
    use std::sync::mpsc;
    use tokio::sync::Semaphore;
    use tokio::sync::oneshot;

    #[tokio::test]
    async fn two_plans_are_made_at_once() {
        let making = Arc::new(Making { jobs: Mutex::default(), lanes: Arc::new(Semaphore::new(LANES.0)) });
        let (begun, has_begun) = mpsc::channel();
        let mut go_on = Vec::new();
        for which in 0..3 {
            let (making, begun) = (making.clone(), begun.clone());
            let (go, told) = mpsc::channel::<()>();
            go_on.push(go);
            tokio::spawn(async move {
                let work = move || {
                    begun.send(which).unwrap();
                    let _ = told.recv();
                };
                making.in_lane(work).await
            });
        }
        let both = tokio::task::spawn_blocking(move || {
            // Both must have begun before either is let go.
            let next = || has_begun.recv_timeout(Duration::from_secs(60)).is_ok();
            let two = [next(), next()];
            let third_waits = has_begun.try_recv().is_err();
            drop(go_on);
            (two, third_waits, next())
        });
        assert_eq!(both.await.unwrap(), ([true, true], true, true));
    }

    #[tokio::test(start_paused = true)]
    async fn a_plan_that_takes_too_long_is_told_so_and_kept_when_it_is_done() {
        let (tell, mut progress) = watch::channel(Progress::Working);
        let (done, is_done) = oneshot::channel();
        let work = async move { is_done.await.unwrap_or(Progress::Failed) };
        let telling = tokio::spawn(async move { told_in_time(&tell, work).await });
        // The clock goes on by itself as soon as everybody waits.
        tokio::time::timeout(10 * LONGEST_PLAN, progress.changed()).await.unwrap().unwrap();
        assert!(matches!(*progress.borrow(), Progress::TooLong));
        let kept: PlanId = "0190b7a0-0000-7000-8000-000000000002".parse().unwrap();
        done.send(Progress::Kept(kept)).ok().unwrap();
        telling.await.unwrap();
        assert!(matches!(*progress.borrow(), Progress::Kept(id) if id == kept));
    }

    #[tokio::test]
    async fn the_page_that_waits_says_calmly_when_it_takes_too_long() {
        let asking = Asking::new().await;
        let (_tell, progress) = watch::channel(Progress::TooLong);
        let id = Uuid::now_v7();
        let client = "0190b7a0-0000-7000-8000-000000000001".parse().unwrap();
        asking.app().making.jobs.lock().unwrap().push_back(Job { id, client, version: 1, progress });
        let (status, text) = asking.get(&format!("/making/{id}")).await;
        assert_eq!(status, 200);
        assert!(text.contains("Nothing is lost") && text.contains(&format!("/clients/{client}")), "{text}");
    }
}
