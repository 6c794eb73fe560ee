//! An act of a page: the same line that scripts write, through the same door.

use super::page::Trouble;
use crate::web::AppState;
use desk::DeskFault;
use desk::acts::Ended;
use measure::text::sentence;
use salon::Fault;
use serde_json::{Value, json};

/// Does a line today; its answer, or every fault where it was refused.
pub async fn act(app: &AppState, mut line: Value) -> Result<Result<Value, Vec<Fault>>, Trouble> {
    let now = jiff::ZonedDateTime::now();
    line["on"] = json!(desk::today());
    // An appointment says a time of its own.
    if line["at"].is_null() {
        line["at"] = json!(now.strftime("%H:%M").to_string());
    }
    let (answer, ended) = app.salon.act(&line.to_string()).await;
    match ended {
        Ended::Done => Ok(Ok(answer)),
        Ended::Refused | Ended::NoAct => match serde_json::from_value::<Vec<Fault>>(answer["faults"].clone()) {
            Ok(faults) if faults.iter().any(|fault| fault.rule == "unknown") => Err(Trouble::NoPage),
            Ok(faults) => Ok(Err(faults)),
            Err(cause) => Err(Trouble::Ours(cause.to_string())),
        },
        Ended::Records(_) => Err(Trouble::Store(DeskFault::damaged("the records said no", &answer))),
    }
}

/// Faults as a page says them: what is wrong, and what to do.
pub fn told(faults: &[Fault]) -> Vec<String> {
    faults.iter().map(|fault| measure::text::sentences(&fault.what, &sentence(&fault.cure))).collect()
}

/// A key by which a form that is sent twice is done once.
pub fn key() -> String {
    uuid::Uuid::now_v7().to_string()
}
