//! The notices of a lake file as they were understood.

use super::page::Page;
use crate::faces::Reader;
use crate::faces::text::notices::threshold;
use crate::lake::{BandEdge, Lake, Notice, NoticeCondition};

/// Writes them.
pub(super) fn notices(page: &mut Page, lake: &Lake, reader: &Reader) {
    page.titled("Notices", lake.notices.is_empty());
    for notice in &lake.notices {
        page.row(&[(18, &notice.id)], &notice_text(notice, reader));
    }
}

fn notice_text(notice: &Notice, reader: &Reader) -> String {
    let what = match &notice.condition {
        NoticeCondition::Turnover { zone, .. } => format!("turnover of {zone}"),
        NoticeCondition::RampOut { ramp, .. } => format!("ramp {ramp} out of use"),
        NoticeCondition::RampBack { ramp, .. } => format!("ramp {ramp} back in use"),
        NoticeCondition::Pulse { inflow, .. } => format!("flow of {inflow} over its base"),
        NoticeCondition::Depth { species, edge, .. } => {
            let edge = match edge {
                BandEdge::Top => "top of the band",
                BandEdge::Best => "best depth",
                BandEdge::Bottom => "bottom of the band",
            };
            format!("{edge} of {species}")
        }
        NoticeCondition::SurfaceTemp { zone, .. } => format!("surface of {zone}"),
        NoticeCondition::Level { .. } => "level".to_owned(),
        NoticeCondition::Share { species, zone, .. } => format!("share of {species} in {zone}"),
    };
    let note = (notice.note.as_ref()).map_or(String::new(), |note| format!("; {note}"));
    format!("{what} {}{note}", threshold(&notice.condition, reader))
}
