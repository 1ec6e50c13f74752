//! The water of a morning, summarised over members.

use super::brief::{
    DepthOxygen, DepthTemp, PlungeLineSummary, RiverWaterSummary, RiverWaySummary, WaterSummary,
    ZoneWaterSummary,
};
use crate::column::{RiverWay, Water, WayOfMember, ZoneWater};
use crate::lake::{InflowId, Lake};
use crate::math::interpolate::linear;
use crate::math::quantiles::{median, quantile_of_sorted as quantile};

/// Depths of the table of a zone (project choice: what a reader can use at a glance).
const TABLE_DEPTHS_M: [f64; 9] = [0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 20.0, 30.0, 45.0];

/// Zones, rivers and the surface ahead.
pub(super) fn water_summary(lake: &Lake, water: &Water) -> WaterSummary {
    let zones = water
        .zones
        .iter()
        .filter_map(|zone| {
            let described = lake.zone(&zone.zone)?;
            Some(ZoneWaterSummary {
                zone: zone.zone.clone(),
                name: described.name.clone(),
                kind: described.kind,
                closed: zone.closed,
                max_depth_m: zone.max_depth_m,
                volume_m3: zone.volume_m3,
                basis: zone.basis.clone(),
                temps: depth_temps(zone),
                oxygens: depth_oxygens(zone),
            })
        })
        .collect();
    let rivers = water
        .rivers
        .iter()
        .filter_map(|river| {
            let [low_degc, median_degc, high_degc] = low_median_high(river.temp_degc.iter().copied())?;
            let way = water.river_ways.iter().find(|way| way.inflow == river.inflow);
            Some(RiverWaterSummary {
                inflow: river.inflow.clone(),
                name: inflow_name(lake, &river.inflow),
                median_degc,
                low_degc,
                high_degc,
                measured: river.measured,
                way: way.and_then(way_summary),
            })
        })
        .collect();
    WaterSummary {
        members: water.members,
        zones,
        rivers,
        surface_outlook: water.surface_outlook.clone(),
        columns: water.columns.clone(),
    }
}

/// 10 %, 50 % and 90 % of the members at every depth of the table that the zone reaches.
fn by_depth(zone: &ZoneWater, members: &[Vec<f64>]) -> Vec<(f64, [f64; 3])> {
    let deepest_m = zone.depth_m.last().copied().unwrap_or(0.0);
    TABLE_DEPTHS_M
        .into_iter()
        .filter(|depth_m| *depth_m <= deepest_m)
        .filter_map(|depth_m| {
            let at = members
                .iter()
                .filter_map(|values| linear(&zone.depth_m, values, depth_m));
            Some((depth_m, low_median_high(at)?))
        })
        .collect()
}

fn depth_temps(zone: &ZoneWater) -> Vec<DepthTemp> {
    by_depth(zone, &zone.temp_degc)
        .into_iter()
        .map(|(depth_m, [low_degc, median_degc, high_degc])| DepthTemp {
            depth_m,
            median_degc,
            low_degc,
            high_degc,
        })
        .collect()
}

fn depth_oxygens(zone: &ZoneWater) -> Vec<DepthOxygen> {
    by_depth(zone, zone.oxygen_mg_l.as_deref().unwrap_or_default())
        .into_iter()
        .map(|(depth_m, [low_mg_l, median_mg_l, high_mg_l])| DepthOxygen {
            depth_m,
            median_mg_l,
            low_mg_l,
            high_mg_l,
        })
        .collect()
}

/// A river's way as most members have it; `None` of a river without flow.
fn way_summary(way: &RiverWay) -> Option<RiverWaySummary> {
    let kind = commonest(&way.members, |m| m.kind)?;
    let alike: Vec<&WayOfMember> = way.members.iter().filter(|m| m.kind == kind).collect();
    let rests_zone = commonest(&alike, |m| m.rests_zone.clone())?;
    let rests = alike.iter().filter(|m| m.rests_zone == rests_zone);
    let [rests_low_m, rests_depth_m, rests_high_m] = low_median_high(rests.map(|m| m.rests_depth_m))?;
    let on_bed = alike.iter().filter(|m| m.on_the_bed).count();
    Some(RiverWaySummary {
        kind,
        members_frac: alike.len() as f64 / way.members.len() as f64,
        line: line_summary(&alike),
        rests_zone,
        rests_depth_m,
        rests_low_m,
        rests_high_m,
        on_the_bed: 2 * on_bed > alike.len(),
    })
}

fn line_summary(members: &[&WayOfMember]) -> Option<PlungeLineSummary> {
    let zone = commonest(members, |m| m.line_zone.clone())?;
    let there: Vec<&&WayOfMember> = members.iter().filter(|m| m.line_zone == zone).collect();
    let lines: Vec<f64> = there.iter().filter_map(|m| m.line_m).collect();
    let distance_m = median(&lines)?;
    let end = |which: usize| {
        let ends: Vec<f64> = there.iter().filter_map(|m| m.band_m[which]).collect();
        // Where the end of the band lies in another zone, the line itself is the last place told.
        median(&ends).unwrap_or(distance_m)
    };
    let (one_m, other_m) = (end(0), end(1));
    Some(PlungeLineSummary {
        zone,
        distance_m,
        low_m: one_m.min(other_m).min(distance_m),
        high_m: one_m.max(other_m).max(distance_m),
    })
}

/// What most of them have; of equals that which comes first among them.
fn commonest<T, K: PartialEq>(of: &[T], key: impl Fn(&T) -> K) -> Option<K> {
    let mut counts: Vec<(K, usize)> = Vec::new();
    for item in of {
        let key = key(item);
        match counts.iter_mut().find(|(other, _)| *other == key) {
            Some((_, count)) => *count += 1,
            None => counts.push((key, 1)),
        }
    }
    // The first of the greatest: `max_by_key` gives the last.
    counts
        .into_iter()
        .rev()
        .max_by_key(|(_, count)| *count)
        .map(|(key, _)| key)
}

fn low_median_high(values: impl Iterator<Item = f64>) -> Option<[f64; 3]> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    Some([
        quantile(&values, 0.1)?,
        quantile(&values, 0.5)?,
        quantile(&values, 0.9)?,
    ])
}

fn inflow_name(lake: &Lake, id: &InflowId) -> String {
    let inflow = lake.inflows.iter().find(|inflow| &inflow.id == id);
    inflow.map_or_else(|| id.to_string(), |inflow| inflow.name.clone())
}
