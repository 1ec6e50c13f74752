//! The service's error bodies: `application/problem+json` (RFC 9457).

use serde::Deserialize;

use crate::sources::client::problem_words;
use crate::sources::error::ReadError;

/// The parts of a problem body that say something.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct Problem {
    #[serde(rename = "type")]
    kind: Option<String>,
    title: Option<String>,
    detail: Option<String>,
    status: Option<u16>,
    #[serde(rename = "correlationId")]
    correlation_id: Option<String>,
}

/// What a body without the wanted content says: the problem's own words, or that it is something else.
pub(super) fn said(problem: Problem, found: &str, wanted: &str) -> ReadError {
    let is_problem = problem.status.is_some() || problem.correlation_id.is_some();
    let words = problem_words(
        problem.title.as_deref(),
        problem.detail.as_deref(),
        problem.kind.as_deref(),
    );
    if is_problem && let Some(mut reason) = words {
        if let Some(status) = problem.status {
            reason.push_str(&format!(" (status {status})"));
        }
        return ReadError::Said { reason };
    }
    ReadError::Kind {
        found: found.to_owned(),
        wanted: wanted.to_owned(),
    }
}
