//! What happened and what is promised: clients, stock, quotes, diary, plans.

pub mod plan;
