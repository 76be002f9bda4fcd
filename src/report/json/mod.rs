//! Objects for scripts: one per call, in SI base units, under the schema `firstpulse/1`.
//!
//! A number that is not finite is `null`; the object that holds it says why under `why_not`.
//! Captures and channels are named by their 1-based numbers, as the command line names them.

mod channel;
mod compared;
mod fits;
mod inspection;
mod job;
mod measured;
mod reading;
mod shot_list;
mod startup_budget;
mod steps;
mod suspect;
mod timing;

use serde_json::{Map, Value};

pub use compared::compared;
pub use fits::separation;
pub use inspection::{batch, case, inspection};
pub use job::job;
pub use reading::reading;
pub use startup_budget::startup_budget;

/// Name and version of the object layout. Keys may be added within a version, never changed.
pub const SCHEMA: &str = "firstpulse/1";

/// A number, or `null` when it is not finite.
pub fn number(value: f64) -> Value {
    serde_json::Number::from_f64(value).map_or(Value::Null, Value::Number)
}

/// A number where there is one and it is finite, else `null`.
pub fn optional(value: Option<f64>) -> Value {
    value.map_or(Value::Null, number)
}

/// 1-based number of something that is counted from 0 inside.
fn numbered(index: usize) -> Value {
    Value::from(index.saturating_add(1))
}

/// The object with the schema added.
fn with_schema(mut object: Map<String, Value>) -> Value {
    object.insert("schema".to_owned(), Value::from(SCHEMA));
    Value::Object(object)
}

/// The object's map; empty for anything else.
fn map_of(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

#[cfg(test)]
mod tests;
