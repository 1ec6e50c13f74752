//! Stretches, ramps, outlets and hazards.

use super::block::{Block, plain, quote};
use super::fault::{At, Faults};
use super::known::Known;
use super::outline::read_outline;
use super::shape::feet;
use super::zones::{above_bed, increasing};
use crate::lake::{Hazard, HazardKind, Outlet, Ramp, Stretch, Structure, ZoneId, distance_m};

/// Farther from the lake's position than this, a point is a slip (swapped or missing sign), metres.
const FARTHEST_M: f64 = 100_000.0;

/// Notes each id that another block of the list has already.
pub(super) fn unique<'v>(faults: &Faults<'_>, block: &str, ids: impl Iterator<Item = &'v At<String>>) {
    let mut seen: Vec<&str> = Vec::new();
    for id in ids {
        if seen.contains(&id.value.as_str()) {
            let found = format!("a second entry {} of {block}", quote(&id.value));
            faults.add(
                id.span.start,
                found,
                "each id once",
                "give it an id of its own, or remove it",
            );
        }
        seen.push(&id.value);
    }
}

/// Notes an elevation above the full pool.
pub(super) fn below_full(block: &Block<'_, '_>, elevation: &At<f64>, what: &str, known: &Known<'_>) {
    if let Some(full) = &known.full_pool_m
        && elevation.value > full.value + 1e-6
    {
        let wanted = format!("at most the full pool, {}", feet(full.value));
        let mend = "check the number, its unit and its datum";
        block.fault(
            &elevation.span,
            format!("{what} at {}, above the full pool", feet(elevation.value)),
            wanted,
            mend,
        );
    }
}

/// A zone that is water of the lake: the main body or an arm.
pub(super) fn pool_zone(block: &Block<'_, '_>, stem: &str, known: &Known<'_>) -> Option<At<String>> {
    let zone = block.reference(stem, &known.ids("zones"))?;
    if known.zone_kind(&zone.value) == "river" {
        let found = format!("{stem} = {}, a river", quote(&zone.value));
        block.fault(
            &zone.span,
            found,
            "the main body or an arm",
            "name the zone of the lake that the river flows into",
        );
        return None;
    }
    Some(zone)
}

/// Notes a point far from the lake.
pub(super) fn near_lake(block: &Block<'_, '_>, point: &At<(f64, f64)>, known: &Known<'_>) {
    let Some(lake) = known.position else { return };
    let away_m = distance_m(lake, point.value);
    if away_m > FARTHEST_M {
        let found = format!(
            "a point {} km from the lake's position, outside any zone",
            plain((away_m / 1000.0).round())
        );
        let wanted = "latitude, then longitude (west is negative), within 100 km of the lake";
        block.fault(&point.span, found, wanted, "check order and signs");
    }
}

/// All stretches; `None` where one of them is faulty.
pub(super) fn read_stretches(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Stretch>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (id, name) = (block.id("id"), block.text("name"));
        ids.extend(id.clone());
        let zone = pool_zone(block, "zone", known);
        let structure = block.word("structure").map(|word| match word.value {
            "channel" => Structure::Channel,
            "bluff" => Structure::Bluff,
            "island" => Structure::Island,
            "flat" => Structure::Flat,
            _ => Structure::Point,
        });
        let bed = block.measure("bed_elevation");
        if let Some(bed) = &bed {
            below_full(block, bed, "the bed", known);
            above_bed(block, bed, "the bed", known);
        }
        let line = block.line("line");
        if let Some(far) = line
            .iter()
            .flat_map(|line| &line.value)
            .find(|p| is_far(p.value, known))
        {
            near_lake(block, far, known);
        }
        let outline = read_outline(block, known);
        Some(Stretch {
            id: id?.value,
            name: name?.value,
            zone: ZoneId::new(zone?.value),
            structure: structure?,
            line: line?.value.into_iter().map(|point| point.value).collect(),
            outline: outline?,
            bed_elevation_m: bed?.value,
        })
    };
    let list = all(root.blocks("stretches").iter().map(read));
    unique(root.faults, "stretches", ids.iter());
    list
}

pub(super) fn is_far(point: (f64, f64), known: &Known<'_>) -> bool {
    known
        .position
        .is_some_and(|lake| distance_m(lake, point) > FARTHEST_M)
}

/// All of a list, each read even where one before it was faulty; `None` where one was.
pub(super) fn all<T>(items: impl Iterator<Item = Option<T>>) -> Option<Vec<T>> {
    let read: Vec<Option<T>> = items.collect();
    read.into_iter().collect()
}

/// All ramps; `None` where one of them is faulty.
pub(super) fn read_ramps(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Ramp>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (id, name) = (block.id("id"), block.text("name"));
        ids.extend(id.clone());
        let zone = pool_zone(block, "zone", known);
        let toe = block.measure("toe_elevation");
        if let Some(toe) = &toe {
            below_full(block, toe, "a ramp toe", known);
            above_bed(block, toe, "a ramp toe", known);
        }
        let position = block.position("position");
        if let Some(position) = &position {
            near_lake(block, position, known);
        }
        let lanes = read_lanes(block, toe.as_ref(), known);
        Some(Ramp {
            id: id?.value,
            name: name?.value,
            zone: ZoneId::new(zone?.value),
            toe_elevation_m: toe?.value,
            position: position.map(|at| at.value),
            lanes: lanes?,
        })
    };
    let list = all(root.blocks("ramps").iter().map(read));
    unique(root.faults, "ramps", ids.iter());
    list
}

fn read_lanes(block: &Block<'_, '_>, toe: Option<&At<f64>>, known: &Known<'_>) -> Option<Vec<(f64, u32)>> {
    let rows: Vec<_> = block
        .blocks("lanes")
        .iter()
        .map(|b| (b.measure("elevation"), b.whole("lanes")))
        .collect();
    increasing(block, rows.iter().filter_map(|r| r.0.as_ref()), "elevation");
    for elevation in rows.iter().filter_map(|r| r.0.as_ref()) {
        below_full(block, elevation, "lanes that open", known);
        if let Some(toe) = toe
            && elevation.value < toe.value - 1e-6
        {
            let wanted = format!("an elevation from the toe up, {}", feet(toe.value));
            let mend = "no lane is open below the toe: check both";
            block.fault(
                &elevation.span,
                format!("lanes that open at {}", feet(elevation.value)),
                wanted,
                mend,
            );
        }
    }
    for pair in rows.windows(2) {
        if let (Some(low), Some(high)) = (&pair[0].1, &pair[1].1)
            && high.value <= low.value
        {
            let wanted = format!("more than the {} of the row before", low.value);
            block.fault(
                &high.span,
                format!("lanes = {}", high.value),
                wanted,
                "write a row only where a lane opens",
            );
        }
    }
    rows.into_iter()
        .map(|(elevation, lanes)| Some((elevation?.value, lanes?.value)))
        .collect()
}

/// All outlets; `None` where one of them is faulty.
pub(super) fn read_outlets(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Outlet>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (id, name, elevation) = (block.id("id"), block.text("name"), block.measure("elevation"));
        ids.extend(id.clone());
        if let Some(elevation) = &elevation {
            below_full(block, elevation, "an outlet", known);
            above_bed(block, elevation, "an outlet", known);
        }
        Some(Outlet {
            id: id?.value,
            name: name?.value,
            elevation_m: elevation?.value,
        })
    };
    let list = all(root.blocks("outlets").iter().map(read));
    unique(root.faults, "outlets", ids.iter());
    list
}

/// All hazards; `None` where one of them is faulty.
pub(super) fn read_hazards(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Hazard>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let (id, name) = (block.id("id"), block.text("name"));
        ids.extend(id.clone());
        let zone = pool_zone(block, "zone", known);
        let kind = block.word("kind").map(|word| match word.value {
            "rock" => HazardKind::Rock,
            "stumps" => HazardKind::Stumps,
            _ => HazardKind::Saddle,
        });
        let top = block.measure("top_elevation");
        if let Some(top) = &top {
            below_full(block, top, "the top of a hazard", known);
            above_bed(block, top, "the top of a hazard", known);
        }
        let position = block.position("position");
        if let Some(position) = &position {
            near_lake(block, position, known);
        }
        Some(Hazard {
            id: id?.value,
            name: name?.value,
            zone: ZoneId::new(zone?.value),
            kind: kind?,
            top_elevation_m: top?.value,
            position: position.map(|at| at.value),
        })
    };
    let list = all(root.blocks("hazards").iter().map(read));
    unique(root.faults, "hazards", ids.iter());
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_of_latitude_is_sixty_nautical_miles() {
        // 1 nautical mile = 1852 m was chosen as one minute of arc; the mean sphere gives 0.1 % more.
        let found_m = distance_m((42.0, -119.0), (43.0, -119.0));
        assert!((found_m - 60.0 * 1852.0).abs() < 100.0, "{found_m}");
    }
}
