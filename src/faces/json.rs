//! The brief as JSON: the value itself, SI and UTC, keys in the order of the struct.

use crate::reports::Brief;

/// The brief as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; no such figure may enter a brief.
pub fn render_json(brief: &Brief) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(brief)?;
    text.push('\n');
    Ok(text)
}

/// JSON Schema (draft 2020-12) of the brief, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_brief_schema() -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(Brief))?;
    text.push('\n');
    Ok(text)
}
