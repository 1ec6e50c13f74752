//! The brief, the report of a hindcast, and the pages of a fit and of skill as JSON: the values themselves, SI and UTC, keys in the order of the struct.

use crate::hindcast::HindcastReport;
use crate::hindcast::outlook::TurnoverHindcast;
use crate::reports::{Brief, Digest, FitPage, SkillPage, TurnoverOutlook};

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

/// The digest as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; no such figure may enter a digest.
pub fn render_digest_json(digest: &Digest) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(digest)? + "\n")
}

/// JSON Schema (draft 2020-12) of the digest, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_digest_schema() -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(&schemars::schema_for!(Digest))? + "\n")
}

/// The report of a hindcast as indented JSON with a final newline.
///
/// # Errors
/// Never in practice: figures of finite differences are finite, and JSON has a word for those that are not.
pub fn render_hindcast_json(report: &HindcastReport) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(report)?;
    text.push('\n');
    Ok(text)
}

/// JSON Schema (draft 2020-12) of the report of a hindcast, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_hindcast_schema() -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(HindcastReport))?;
    text.push('\n');
    Ok(text)
}

/// The page of a fit as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; no such figure comes out of a fit.
pub fn render_fit_json(page: &FitPage) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(page)? + "\n")
}

/// JSON Schema (draft 2020-12) of the page of a fit, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_fit_schema() -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(&schemars::schema_for!(FitPage))? + "\n")
}

/// The skill page as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; scores are floored so that they are.
pub fn render_skill_json(page: &SkillPage) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(page)? + "\n")
}

/// JSON Schema (draft 2020-12) of the skill page, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_skill_schema() -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(&schemars::schema_for!(SkillPage))? + "\n")
}

/// The turnover outlook as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; no such figure comes out of a run.
pub fn render_turnover_json(outlook: &TurnoverOutlook) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(outlook)? + "\n")
}

/// JSON Schema (draft 2020-12) of the turnover outlook, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_turnover_schema() -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(&schemars::schema_for!(TurnoverOutlook))? + "\n")
}

/// The scores of outlooks on the turnover in past years as indented JSON with a final newline.
///
/// # Errors
/// Only if a figure is not finite; scores of distributions are finite.
pub fn render_turnover_hindcast_json(found: &TurnoverHindcast) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(found)? + "\n")
}

/// JSON Schema (draft 2020-12) of them, indented, with a final newline.
///
/// # Errors
/// Never in practice: the schema is a plain tree.
pub fn render_turnover_hindcast_schema() -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(&schemars::schema_for!(TurnoverHindcast))? + "\n")
}
