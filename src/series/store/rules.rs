//! Which of two records of the same instant and depth stands.

use std::cmp::Ordering;

use crate::series::{Approval, Observation};

/// Where a row stands in its series: time in microseconds, then depth, rows without depth first.
pub(super) fn place(row: &Observation) -> (i64, Option<DepthOrder>) {
    (row.time.timestamp_micros(), row.depth_m.map(DepthOrder))
}

/// Depths in their total order.
#[derive(Debug, Clone, Copy)]
pub(super) struct DepthOrder(f64);

impl Ord for DepthOrder {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}
impl PartialOrd for DepthOrder {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for DepthOrder {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for DepthOrder {}

/// What becomes of the stored row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    /// Both say the same; the stored row stays, with its flag and its time of retrieval.
    Same,
    /// The stored row stands against the new one.
    Keep,
    /// The new row takes its place.
    Replace,
}

/// Judges a `new` row against the `stored` one of the same place.
///
/// In this order: approved stands against what is not; a value against none; the later retrieval
/// against the earlier. Where all three agree, an arbitrary but fixed order of the contents decides,
/// so that the outcome does not depend on which came first.
pub(super) fn judge(stored: &Observation, new: &Observation) -> Verdict {
    if same_content(stored, new) {
        return Verdict::Same;
    }
    match rank(new).cmp(&rank(stored)).then_with(|| arbitrary(new, stored)) {
        Ordering::Greater => Verdict::Replace,
        Ordering::Equal | Ordering::Less => Verdict::Keep,
    }
}

fn rank(row: &Observation) -> (bool, bool, i64) {
    let retrieved = row.provenance.retrieved_at.timestamp_micros();
    (row.approval == Approval::Approved, row.value.is_some(), retrieved)
}

fn same_content(a: &Observation, b: &Observation) -> bool {
    bits(a.value) == bits(b.value)
        && bits(a.original_value) == bits(b.original_value)
        && a.approval == b.approval
        && a.qualifier == b.qualifier
        && a.provenance.original_unit == b.provenance.original_unit
}

fn arbitrary(a: &Observation, b: &Observation) -> Ordering {
    let numbers = |row: &Observation| (bits(row.value), bits(row.original_value), row.approval);
    let texts = |row: &Observation| (row.qualifier.clone(), row.provenance.original_unit.clone());
    numbers(a).cmp(&numbers(b)).then_with(|| texts(a).cmp(&texts(b)))
}

fn bits(value: Option<f64>) -> Option<u64> {
    value.map(f64::to_bits)
}

/// Counts of a merge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Counts {
    pub(super) added: usize,
    pub(super) replaced: usize,
    pub(super) unchanged: usize,
    pub(super) kept: usize,
}

/// Puts `new` rows into the `stored` ones (both in order of [`place`], no place twice).
pub(super) fn merge_rows(stored: Vec<Observation>, new: &[&Observation]) -> (Vec<Observation>, Counts) {
    let mut counts = Counts::default();
    let mut merged = Vec::with_capacity(stored.len() + new.len());
    let mut new = new.iter().copied().peekable();
    for old in stored {
        let old_place = place(&old);
        while let Some(row) = new.next_if(|row| place(row) < old_place) {
            counts.added += 1;
            merged.push(row.clone());
        }
        let Some(row) = new.next_if(|row| place(row) == old_place) else {
            merged.push(old);
            continue;
        };
        match judge(&old, row) {
            Verdict::Same => {
                counts.unchanged += 1;
                merged.push(old);
            }
            Verdict::Keep => {
                counts.kept += 1;
                merged.push(old);
            }
            Verdict::Replace => {
                counts.replaced += 1;
                merged.push(row.clone());
            }
        }
    }
    for row in new {
        counts.added += 1;
        merged.push(row.clone());
    }
    (merged, counts)
}

/// `rows` in order of [`place`]; of several at one place the one that stands.
pub(super) fn in_order<'a>(rows: impl IntoIterator<Item = &'a Observation>) -> Vec<&'a Observation> {
    let mut rows: Vec<&Observation> = rows.into_iter().collect();
    if !rows.windows(2).all(|pair| place(pair[0]) < place(pair[1])) {
        rows.sort_by_key(|row| place(row));
        rows.dedup_by(|later, earlier| {
            let twin = place(later) == place(earlier);
            if twin && judge(earlier, later) == Verdict::Replace {
                *earlier = later;
            }
            twin
        });
    }
    rows
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use chrono::{DateTime, Utc};

    use super::*;
    use crate::series::{Flag, Provenance};

    fn row(value: Option<f64>, approval: Approval, retrieved_s: i64) -> Observation {
        Observation {
            time: DateTime::<Utc>::UNIX_EPOCH,
            depth_m: None,
            value,
            original_value: value,
            approval,
            qualifier: None,
            flag: Flag::NotEvaluated,
            provenance: Arc::new(Provenance {
                service: "usgs-ogc".to_owned(),
                station: "USGS-990000010".to_owned(),
                parameter: "62614".to_owned(),
                original_unit: "ft".to_owned(),
                retrieved_at: DateTime::from_timestamp(retrieved_s, 0).unwrap(),
            }),
        }
    }

    use Approval::{Approved, Provisional, Unstated};

    #[test]
    fn approved_replaces_provisional_even_when_it_was_fetched_earlier() {
        let (old, new) = (row(Some(1.0), Provisional, 20), row(Some(2.0), Approved, 10));
        assert_eq!(judge(&old, &new), Verdict::Replace);
    }

    #[test]
    fn provisional_never_replaces_approved() {
        for value in [Some(2.0), None] {
            assert_eq!(
                judge(&row(Some(1.0), Approved, 10), &row(value, Provisional, 20)),
                Verdict::Keep
            );
            assert_eq!(
                judge(&row(None, Approved, 10), &row(value, Unstated, 20)),
                Verdict::Keep
            );
        }
    }

    #[test]
    fn a_later_revision_replaces_an_earlier_one_of_the_same_standing() {
        let (earlier, later) = (row(Some(1.0), Provisional, 10), row(Some(2.0), Provisional, 20));
        assert_eq!(judge(&earlier, &later), Verdict::Replace);
        assert_eq!(judge(&later, &earlier), Verdict::Keep);
    }

    #[test]
    fn a_missing_value_erases_one_only_with_higher_approval() {
        assert_eq!(
            judge(&row(Some(1.0), Provisional, 10), &row(None, Provisional, 20)),
            Verdict::Keep
        );
        assert_eq!(
            judge(&row(Some(1.0), Provisional, 10), &row(None, Approved, 20)),
            Verdict::Replace
        );
    }

    #[test]
    fn a_value_fills_a_missing_one_of_the_same_standing_whenever_it_was_fetched() {
        assert_eq!(
            judge(&row(None, Provisional, 20), &row(Some(1.0), Provisional, 10)),
            Verdict::Replace
        );
    }

    #[test]
    fn the_same_value_fetched_later_changes_nothing() {
        assert_eq!(
            judge(&row(Some(1.0), Provisional, 10), &row(Some(1.0), Provisional, 20)),
            Verdict::Same
        );
    }

    #[test]
    fn of_two_revisions_fetched_in_the_same_instant_the_same_one_stands_in_either_order() {
        let (a, b) = (row(Some(1.0), Provisional, 10), row(Some(2.0), Provisional, 10));
        assert_ne!(judge(&a, &b), judge(&b, &a));
    }
}
