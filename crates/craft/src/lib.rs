//! The rules of the trade, and where every piece goes.
