//! The block `hindcast`: days, files, and what must be there for a run.

mod flows;
mod profiles;
mod table;
mod weather;

use super::block::{Block, quote};
use super::known::Known;
use super::places::all;
use super::shape::feet;
use crate::lake::{Hindcast, Outlet};
use flows::{check_rivers, read_inflow, read_level, read_release};
use profiles::{read_ice, read_profiles};
pub(super) use table::read_scale;
use weather::{check_weather, read_weather};

/// Depth to which an observation counts as one of the surface, where the file says nothing, metres (project choice).
const SURFACE_DEPTH_M: f64 = 1.0;

pub(super) fn read_hindcast(
    block: &Block<'_, '_>,
    known: &Known<'_>,
    outlets: Option<&[Outlet]>,
) -> Option<Hindcast> {
    let (start, end) = (block.date("start"), block.date("end"));
    if let (Some(start), Some(end)) = (&start, &end)
        && end.value < start.value
    {
        let found = format!("end = {}", end.value);
        block.fault(
            &end.span,
            found,
            format!("a day from {} on", start.value),
            "swap the two, or correct one",
        );
    }
    let spin_up = block.number("spin_up_days");
    let surface = block.measure("surface_depth");
    let start_elevation = block.measure("start_elevation");
    if let Some(at) = &start_elevation
        && let Some(full) = &known.full_pool_m
        && at.value > full.value + 1e-6
    {
        let wanted = format!("at most the full pool, {}", feet(full.value));
        let found = format!("start_elevation at {}", feet(at.value));
        block.fault(
            &at.span,
            found,
            wanted,
            "check the number, its unit and its datum",
        );
    }
    let hold_level = block.flag("hold_level");
    let fixed = all(block.blocks("fixed").iter().map(|b| {
        let (name, value) = (b.text("name"), b.number("value"));
        Some((name?.value, value?.value))
    }));
    let weather_blocks = block.blocks("weather");
    let weather = all(weather_blocks.iter().map(read_weather));
    if let Some(weather) = &weather {
        check_weather(block, &weather_blocks, weather);
    }
    let inflow_blocks = block.blocks("inflow");
    let inflows = all(inflow_blocks.iter().map(|b| read_inflow(b, known)));
    if let Some(inflows) = &inflows {
        check_rivers(&inflow_blocks, inflows);
    }
    let release_blocks = block.blocks("release");
    let releases = all(release_blocks.iter().map(|b| read_release(b, outlets)));
    if let Some(releases) = &releases {
        for (i, release) in releases.iter().enumerate() {
            if releases[..i].iter().any(|before| before.outlet == release.outlet) {
                let found = format!("a second table of the release of {}", quote(&release.outlet));
                let b = &release_blocks[i];
                b.fault(
                    &b.span,
                    found,
                    "one for each outlet",
                    "add the columns up, or name another outlet",
                );
            }
        }
    }
    let level_block = block.block("level");
    let level = level_block.as_ref().map(read_level);
    let held = hold_level.as_ref().is_some_and(|at| at.value);
    if held && (level_block.is_some() || !release_blocks.is_empty()) {
        block.refuse(
            "hold_level",
            "no such key beside releases or a level, from which the level follows",
        );
    }
    if !inflow_blocks.is_empty()
        && release_blocks.is_empty()
        && level_block.is_none()
        && !block.has("hold_level")
    {
        block.missing(
            "hold_level",
            "since rivers flow in and neither a release nor a level is given",
        );
    }
    let profiles = all(block.blocks("profiles").iter().map(read_profiles));
    let ice_block = block.block("ice");
    let ice = ice_block.as_ref().map(read_ice);
    Some(Hindcast {
        start: start?.value,
        end: end?.value,
        // Limits keep it among the whole numbers that fit.
        spin_up_days: spin_up?.value.round() as u32,
        surface_depth_m: surface.map_or(SURFACE_DEPTH_M, |at| at.value),
        start_elevation_m: start_elevation.map(|at| at.value),
        hold_level: held,
        fixed: fixed?,
        weather: weather?,
        inflows: inflows?,
        releases: releases?,
        level: whole(level)?,
        profiles: profiles?,
        ice: whole(ice)?,
    })
}

/// A block that may be absent: `None` only where it is there and faulty.
fn whole<T>(block: Option<Option<T>>) -> Option<Option<T>> {
    match block {
        None => Some(None),
        Some(None) => None,
        Some(sound) => Some(sound),
    }
}
