//! Where each river sinks and comes to rest.

use super::columns::Members;
use super::value::{RiverRest, SectionRiver, SectionSpot};
use crate::column::WayKind;
use crate::column::network::{Layout, PlungeLine, RiverPath};
use crate::lake::{Inflow, Lake};
use crate::math::quantiles::median;

/// The ways of a river; of those that equally many members take, the first counts.
const WAYS: [WayKind; 3] = [WayKind::Sinks, WayKind::Weak, WayKind::Floats];

/// The lake's rivers, in the order of its file.
pub(super) fn rivers_of<const L: usize>(lake: &Lake, members: &Members<'_, L>) -> Vec<SectionRiver> {
    let layout = members.layout();
    let river_of = |(river, inflow): (usize, &Inflow)| {
        let paths = members
            .all()
            .filter_map(|(network, lane)| network.paths().get(river)?[lane]);
        // A river into an arm without a column enters the main body.
        let entry = layout.head_of(&inflow.enters).unwrap_or(0);
        let route = Route { layout, entry };
        let mut told = SectionRiver {
            inflow: inflow.id.clone(),
            name: inflow.name.clone(),
            enters: inflow.enters.clone(),
            way: None,
            way_members: 0,
            line: None,
            line_band: None,
            rest: None,
        };
        tell(&mut told, &route, &paths.collect::<Vec<_>>(), members.count());
        told
    };
    lake.inflows.iter().enumerate().map(river_of).collect()
}

fn tell(told: &mut SectionRiver, route: &Route<'_>, paths: &[RiverPath], members: usize) {
    if paths.is_empty() || 2 * paths.len() < members {
        return;
    }
    let count = |way: WayKind| paths.iter().filter(|path| way_of(path.line) == way).count();
    let Some(way) = WAYS.into_iter().rev().max_by_key(|way| count(*way)) else {
        return;
    };
    let such: Vec<&RiverPath> = paths.iter().filter(|path| way_of(path.line) == way).collect();
    told.way = Some(way);
    told.way_members = such.len();
    if way != WayKind::Floats {
        told.line = route.median_spot(such.iter().map(|path| path.line));
        let band = |side: usize| route.median_spot(such.iter().map(|path| path.band[side]));
        told.line_band = band(1).zip(band(0)).map(|(head, mouth)| [head, mouth]);
    }
    told.rest = rest_of(&such);
}

fn way_of(line: PlungeLine) -> WayKind {
    match line {
        PlungeLine::Sinks { .. } => WayKind::Sinks,
        PlungeLine::Weak { .. } => WayKind::Weak,
        PlungeLine::Floats { .. } => WayKind::Floats,
    }
}

/// The column in which most members' water comes to rest, and its median elevation there.
fn rest_of(such: &[&RiverPath]) -> Option<RiverRest> {
    let count = |column: usize| such.iter().filter(|p| p.rests_at.0 == column).count();
    let column = such
        .iter()
        .map(|p| p.rests_at.0)
        .max_by_key(|c| (count(*c), *c))?;
    let there = || such.iter().filter(|p| p.rests_at.0 == column);
    let on_the_bed = there().filter(|p| p.on_the_bed).count();
    Some(RiverRest {
        column,
        elevation_m: median(&there().map(|p| p.rests_at.1).collect::<Vec<_>>())?,
        on_the_bed: 2 * on_the_bed > there().count(),
    })
}

/// The way from where a river enters to the dam.
struct Route<'a> {
    layout: &'a Layout,
    entry: usize,
}

impl Route<'_> {
    /// Columns from the entry down to one.
    fn steps(&self, column: usize) -> usize {
        let mut at = self.entry;
        let mut steps = 0;
        while at != column {
            match &self.layout.places[at].toward_lake {
                Some((next, _)) => at = *next,
                None => break,
            }
            steps += 1;
        }
        steps
    }

    /// Where a line is. One in the main body without a distance is that of a river that has filled its arm: it is at the
    /// arm's mouth.
    fn spot(&self, line: PlungeLine) -> SectionSpot {
        let (column, distance_m) = (line.column(), line.distance_m());
        let arm = &self.layout.places[self.entry].zone;
        let mouth = self.layout.of_zone(arm).next();
        match mouth {
            Some(mouth) if column == 0 && self.entry != 0 && distance_m.is_none() => SectionSpot {
                column: mouth,
                distance_m: self.layout.places[mouth].valley.as_ref().map(|v| v.from_m),
            },
            _ => SectionSpot { column, distance_m },
        }
    }

    /// The line in the middle of those that are told, counted from the head; of an even number the one nearer the head. It
    /// is one of them, as there is no mean of two zones.
    fn median_spot(&self, lines: impl Iterator<Item = PlungeLine>) -> Option<SectionSpot> {
        let mut spots: Vec<SectionSpot> = lines.map(|line| self.spot(line)).collect();
        spots.sort_by(|a, b| {
            let from_head = |spot: &SectionSpot| spot.distance_m.map_or(0.0, |m| -m);
            let steps = self.steps(a.column).cmp(&self.steps(b.column));
            steps.then(from_head(a).total_cmp(&from_head(b)))
        });
        spots.get(spots.len().checked_sub(1)? / 2).copied()
    }
}
