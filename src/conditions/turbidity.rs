//! Turbidity where somebody measures it: of zones and of rivers.

use super::TurbidityCondition;
use super::morning::{Morning, left_out};
use crate::lake::SeriesPlace;
use crate::quantity::Quantity;
use crate::series::Gap;

/// The newest turbidity of each place that has a series of it; a gap for each place without one in time. A
/// late value says nothing of this morning: turbidity follows the river within hours.
pub(super) fn turbidities(morning: &Morning, gaps: &mut Vec<Gap>) -> Vec<TurbidityCondition> {
    let zones = morning.lake.zones.iter().map(|z| SeriesPlace::Zone(z.id.clone()));
    let inflows = morning.lake.inflows.iter().map(|i| Morning::inflow_place(&i.id));
    let mut found = Vec::new();
    for place in zones.chain(inflows) {
        let sources: Vec<_> = morning.lake.series_of(Quantity::Turbidity, &place).collect();
        if sources.is_empty() {
            continue;
        }
        let newest = morning.best_of(&sources).and_then(|source| {
            let newest = morning.newest(source).ok_or(crate::series::GapReason::NoData)?;
            match morning.late(source, newest.time) {
                Some(late) => Err(late),
                None => Ok(newest),
            }
        });
        let (zone, inflow) = match place {
            SeriesPlace::Zone(id) => (Some(id), None),
            SeriesPlace::Inflow(id) => (None, Some(id)),
            SeriesPlace::Lake => (None, None),
        };
        match newest {
            Ok(newest) => found.push(TurbidityCondition {
                zone,
                inflow,
                turbidity_ntu: newest.value,
                observed_at: newest.time,
            }),
            Err(reason) => {
                let id = sources[0].id.as_str();
                gaps.push(left_out(id, reason, "turbidity"));
            }
        }
    }
    found
}
