//! The release that the operator has planned.

use super::block::Block;
use super::places::all;
use crate::lake::PlannedRelease;

/// All planned releases, in the order of their days; `None` where one of them is faulty.
pub(super) fn read_planned_release(root: &Block<'_, '_>) -> Option<Vec<PlannedRelease>> {
    let mut places = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (from, until) = (block.date("from"), block.date("until"));
        let flow = block.measure("flow");
        let source = block.text("source");
        let (from, until) = (from?, until?);
        if until.value < from.value {
            let found = format!("{} before {}", until.value, from.value);
            block.fault(
                &until.span,
                found,
                "a last day not before the first",
                "exchange the two days",
            );
            return None;
        }
        places.push((from.value, until.value, from.span.clone()));
        Some(PlannedRelease {
            from: from.value,
            until: until.value,
            flow_m3s: flow?.value,
            source: source?.value,
        })
    };
    let list = all(root.blocks("planned_release").iter().map(read));
    places.sort_by_key(|(from, _, _)| *from);
    let mut sound = true;
    for pair in places.windows(2) {
        let ((_, until, _), (from, _, span)) = (&pair[0], &pair[1]);
        if from <= until {
            let found = format!("a plan from {from}, while the one before goes on until {until}");
            root.fault(
                span,
                found,
                "plans that do not overlap",
                "end the earlier one before it",
            );
            sound = false;
        }
    }
    let mut list = list.filter(|_| sound)?;
    list.sort_by_key(|plan| plan.from);
    Some(list)
}
