//! The service's error bodies: `application/problem+json` (RFC 9457).

use serde::Deserialize;

use crate::sources::error::ReadError;

/// The parts of a problem body that say something.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct Problem {
    title: Option<String>,
    detail: Option<String>,
    status: Option<u16>,
    #[serde(rename = "correlationId")]
    correlation_id: Option<String>,
}

/// What a body without the wanted content says: the problem's own words, or that it is something else.
pub(super) fn said(problem: Problem, found: &str, wanted: &str) -> ReadError {
    let is_problem = problem.status.is_some() || problem.correlation_id.is_some();
    let words: Vec<String> = [problem.title, problem.detail].into_iter().flatten().collect();
    if is_problem && !words.is_empty() {
        let mut reason = words.join(": ");
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
