//! What all replies of the service share: JSON:API with links and counts, or an error body.

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::sources::error::ReadError;
use crate::sources::reply::read_json;

/// A reply with a list, or with one thing.
#[derive(Deserialize)]
pub(super) struct Page<T> {
    pub data: OneOrMany<T>,
    #[serde(default)]
    pub links: Links,
    #[serde(default)]
    pub meta: Meta,
    #[serde(default = "Vec::new")]
    pub included: Vec<serde_json::Value>,
}

#[derive(Deserialize)]
#[serde(untagged)]
pub(super) enum OneOrMany<T> {
    Many(Vec<Thing<T>>),
    One(Box<Thing<T>>),
}

impl<T> OneOrMany<T> {
    pub fn into_list(self) -> Vec<Thing<T>> {
        match self {
            OneOrMany::Many(list) => list,
            OneOrMany::One(one) => vec![*one],
        }
    }
}

/// A thing with its attributes.
#[derive(Deserialize)]
pub(super) struct Thing<T> {
    #[serde(default)]
    pub id: String,
    pub attributes: T,
    #[serde(default)]
    pub relationships: serde_json::Value,
}

#[derive(Deserialize, Default)]
pub(super) struct Links {
    pub next: Option<String>,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "camelCase")]
pub(super) struct Meta {
    pub total_items: Option<usize>,
}

/// The error body of JSON:API, or a plain one.
#[derive(Deserialize)]
struct Problem {
    #[serde(default)]
    errors: Vec<Fault>,
    title: Option<String>,
    detail: Option<String>,
}

#[derive(Deserialize)]
struct Fault {
    title: Option<String>,
    detail: Option<String>,
}

/// A reply with things of attributes `T`, or the service's own words where the body is an error body.
pub(super) fn read_page<T: DeserializeOwned>(
    bytes: &[u8],
    wanted: &'static str,
) -> Result<Page<T>, ReadError> {
    read_json::<Page<T>>(bytes, wanted).map_err(|fault| match &fault {
        ReadError::Json { .. } => {
            let said = read_json::<Problem>(bytes, wanted).ok().and_then(said);
            said.map_or(fault, |reason| ReadError::Said { reason })
        }
        _ => fault,
    })
}

fn said(problem: Problem) -> Option<String> {
    let of = |title: Option<String>, detail: Option<String>| match (title, detail) {
        (Some(title), Some(detail)) => Some(format!("{title}: {detail}")),
        (title, detail) => title.or(detail),
    };
    let first = problem
        .errors
        .into_iter()
        .next()
        .and_then(|fault| of(fault.title, fault.detail));
    first.or_else(|| of(problem.title, problem.detail))
}

/// The number at the end of an id such as `/rise/api/catalog-item/4222`.
pub(super) fn number_of(id: &str) -> &str {
    id.rsplit('/').next().unwrap_or(id)
}
