//! Plans as acts: one made from what is in force, and one made around a layout
//! that the technician set.

use super::{DOCUMENT, Decided, Line, Stop};
use crate::plans::PlanEvents;
use crate::{DeskFault, ForPlan, KeptPlan, MadeFrom, NewPlan, PlanInput, Planned, Salon};
use salon::Fault;
use salon::book::{ClientBook, PlanId, World};
use salon::make::moved::{Moves, same_again};
use salon::plan::SiteId;
use serde_json::json;

/// What is kept beside a plan that was made as an act.
#[derive(Default)]
struct Beside {
    read: Option<ForPlan>,
    from: Option<MadeFrom>,
    levers: Vec<String>,
}

/// Computes beside whatever else runs.
async fn computed<T: Send + 'static>(work: impl FnOnce() -> Result<T, Vec<Fault>> + Send + 'static) -> Result<T, DeskFault> {
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|cause| DeskFault::damaged("a plan could not be computed", &cause))?.map_err(DeskFault::Refused)
}

/// A kept plan laid out anew as somebody set it.
fn laid_anew(kept: KeptPlan, seed: u64, moves: &Moves) -> Result<(Planned, PlanInput), Vec<Fault>> {
    let before = kept.plan.clone();
    let (_, mut input) = kept.reopened(None, seed);
    let model = salon::make::head_model(&input.client.check()?, &input.rules)?;
    input.state = moves.decided(&model, &before)?;
    let planned = crate::plan(&input)?;
    let against = same_again(&before, &input.state, &planned.plan);
    if against.is_empty() { Ok((planned, input)) } else { Err(against) }
}

impl Salon {
    /// Makes a plan from what is in force.
    pub(super) async fn planned(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (id, book) = self.hers(line).await?;
        let seed = line.asked("seed")?.unwrap_or(1);
        let (input, read, facts_version) = self.plan_input(id, world.on, seed).await?;
        let made = computed(move || crate::plan(&input).map(|planned| (planned, input))).await?;
        self.made((id, facts_version), book, made, Beside { read, ..Beside::default() }, world).await
    }

    /// Makes a plan around the sandwiches of another as somebody set them.
    pub(super) async fn laid(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let id: PlanId = line.needed("plan")?;
        let (before, kept) = self.plan(id).await?;
        let book = self.client_book(before.client, None).await?;
        line.still("the client", book.version)?;
        let moves = Moves {
            sites: line.needed("sites")?,
            taken_out: line.asked("taken_out")?.unwrap_or_default(),
            reason: line.asked("because")?.unwrap_or_default(),
            add_g: line.asked("add_g")?,
        };
        // What was taken before is still in it.
        let taken = kept.from.as_ref().and_then(|from| from.taken.clone());
        let beside = Beside { read: kept.read.clone(), from: Some(MadeFrom { plan: id.to_string(), taken }), levers: kept.levers.clone() };
        let seed = before.seed;
        let made = computed(move || laid_anew(kept, seed, &moves)).await?;
        self.made((before.client, before.facts_version), book, made, beside, world).await
    }

    /// A plan that was computed, on its way into the book.
    async fn made(
        &self,
        (client, facts_version): (salon::book::ClientId, i64),
        book: ClientBook,
        (planned, input): (Planned, PlanInput),
        beside: Beside,
        world: &World,
    ) -> Result<Decided, Stop> {
        let own_depth = crate::house::own_depth(&input.rules);
        let Beside { read, from, levers } = beside;
        let kept = KeptPlan {
            client: input.client,
            ring: input.ring,
            shelf: input.shelf,
            plan: planned.plan.clone(),
            read,
            own_depth,
            from,
            levers,
            observed: input.observed,
            hers: input.hers,
        };
        let new = NewPlan { client, facts_version, seed: input.seed, kept, scalp: planned.scalp_obj };
        let PlanEvents { id, made, judged } = self.plan_events(&book, &new).await?;
        let sites: Vec<SiteId> = planned.plan.sites.iter().map(|site| site.site).collect();
        let document = serde_json::to_value(&planned.plan).map_err(|cause| DeskFault::damaged("a plan cannot be written", &cause))?;
        let (verdict, sites) = (document["verdict"]["verdict"].clone(), json!(sites));
        let mut decided = self.client_act(client, book, vec![made], world);
        if let Some((document, event)) = judged {
            decided.act = decided.act.of_health(document, event);
        }
        Ok(decided.with("plan", id.to_string()).with("verdict", verdict).with("sites", sites).with(DOCUMENT, document))
    }
}
