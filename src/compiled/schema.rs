//! The published JSON Schema of the compiled procedure.

use super::Compiled;

/// The schema, as a JSON value of the 2020-12 dialect.
pub fn schema() -> serde_json::Value {
    serde_json::Value::from(schemars::schema_for!(Compiled))
}
