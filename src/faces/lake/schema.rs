//! The JSON Schema of the lake file, for editors that complete and check TOML by one. Made from the table of keys,
//! so it says what docs/lake-file.md says; what holds between blocks only `plungeline lake check` knows.

use serde_json::{Map, Value, json};

use crate::lake::file::keys::{Dimension, Key, Kind, Limits, Need, keys, keys_of};
use crate::quantity::Quantity;

/// Draft that the schema is written in.
const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// The schema, indented, with a line end. A block is a definition under its own name.
///
/// # Errors
/// None that is known of: texts and numbers always become JSON.
pub fn render_lake_schema() -> Result<String, serde_json::Error> {
    let mut blocks: Vec<&str> = keys().iter().map(|k| k.block).filter(|b| !b.is_empty()).collect();
    blocks.sort_unstable();
    blocks.dedup();
    let defs: Map<String, Value> = blocks.iter().map(|b| ((*b).to_owned(), block(b))).collect();
    let mut root = json!({
        "$schema": DRAFT,
        "title": "Lake file of plungeline",
        "description": "A reservoir for plungeline. `plungeline lake check` finds what this schema cannot say.",
    });
    if let (Value::Object(root), Value::Object(top)) = (&mut root, block("")) {
        root.extend(top);
        root.insert("$defs".to_owned(), Value::Object(defs));
    }
    Ok(serde_json::to_string_pretty(&root)? + "\n")
}

/// The object of one block: its keys and no others, each twin once.
fn block(name: &str) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    let mut rules = Vec::new();
    for key in keys_of(name) {
        let names = key.names();
        for own in &names {
            properties.insert(own.clone(), property(key, own));
        }
        match (&names[..], key.need) {
            ([only], Need::Always) => required.push(json!(only)),
            ([us, metric], Need::Always) => {
                rules.push(json!({ "oneOf": [{ "required": [us] }, { "required": [metric] }] }));
            }
            ([us, metric], _) => rules.push(json!({ "not": { "required": [us, metric] } })),
            _ => {}
        }
    }
    let mut object = json!({
        "type": "object",
        "additionalProperties": false,
        "properties": properties,
    });
    if !required.is_empty() {
        object["required"] = Value::Array(required);
    }
    if !rules.is_empty() {
        object["allOf"] = Value::Array(rules);
    }
    object
}

/// A key under one of its names: what it holds, and what it means.
fn property(key: &Key, name: &str) -> Value {
    let mut value = holds(key, name);
    value["description"] = json!(key.meaning);
    value
}

fn holds(key: &Key, name: &str) -> Value {
    let position = json!({
        "type": "array",
        "prefixItems": [
            { "type": "number", "minimum": -90, "maximum": 90 },
            { "type": "number", "minimum": -180, "maximum": 180 },
        ],
        "items": false,
        "minItems": 2,
    });
    match key.kind {
        Kind::Id => json!({ "type": "string", "pattern": "^[a-z0-9][a-z0-9-]{0,63}$" }),
        Kind::Text | Kind::TimeZone | Kind::Reference(_) => json!({ "type": "string", "minLength": 1 }),
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Word(words) => json!({ "enum": words }),
        Kind::Words(words) => json!({ "type": "array", "items": { "enum": words }, "minItems": 1 }),
        Kind::Quantity => json!({ "enum": Quantity::ALL.map(Quantity::word) }),
        Kind::References(_) => {
            json!({ "type": "array", "items": { "type": "string", "minLength": 1 }, "minItems": 1 })
        }
        Kind::Number(limits) => number(limits, (1.0, 0.0)),
        Kind::Measure(dimension, limits) => number(limits, unit_of(dimension, name)),
        Kind::Months(dimension, limits) => json!({
            "type": "array",
            "items": number(limits, unit_of(dimension, name)),
            "minItems": 12,
            "maxItems": 12,
        }),
        Kind::Whole => json!({ "type": "integer", "minimum": 1 }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Date => json!({ "type": "string", "format": "date" }),
        Kind::Position => position,
        Kind::Line => json!({ "type": "array", "items": position, "minItems": 2 }),
        Kind::Outline => json!({ "type": "array", "items": position, "minItems": 3 }),
        Kind::Flow => json!({ "oneOf": [{ "const": "series" }, reference("inflows.flow")] }),
        Kind::Block(block) => reference(block),
        Kind::Blocks(block) => json!({ "type": "array", "items": reference(block) }),
    }
}

fn reference(block: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{block}") })
}

/// SI units in one unit of the key `name`, which is one of a pair of twins, and what its 0 is in SI.
fn unit_of(dimension: Dimension, name: &str) -> (f64, f64) {
    let (suffix, factor) = dimension.us();
    if name.ends_with(&format!("_{suffix}")) {
        (factor, dimension.us_zero())
    } else {
        (1.0, 0.0)
    }
}

/// A number within `limits`, which are in SI, of a unit of `factor` SI units each, whose 0 is `zero` of them. Converted
/// limits are rounded away from the middle, so that none refuses what the reader takes.
fn number(limits: Limits, (factor, zero): (f64, f64)) -> Value {
    const PLACES: f64 = 1e6;
    let low = ((limits.low - zero) / factor * PLACES).floor() / PLACES;
    let high = ((limits.high - zero) / factor * PLACES).ceil() / PLACES;
    let least = if limits.above_low {
        "exclusiveMinimum"
    } else {
        "minimum"
    };
    json!({ "type": "number", least: low, "maximum": high })
}
