//! Zones: main body, arms, rivers, and their shares of the lake's area.

use super::block::{Block, plain, quote};
use super::fault::{At, Faults};
use super::known::Known;
use super::outline::read_outline;
use super::places::{below_full, near_lake, unique};
use super::shape::feet;
use crate::lake::{InflowId, ThalwegPoint, Zone, ZoneId, ZoneKind};

/// Shares of all zones may differ from 1 by this much: they are written with two or three decimals.
const SHARE_TOLERANCE_FRAC: f64 = 0.005;

/// A zone as read, with what later checks need.
struct Draft<'b, 'i> {
    block: Block<'b, 'i>,
    id: Option<At<String>>,
    kind: Option<ZoneKind>,
    inflow: Option<At<String>>,
    area_share: Option<Vec<(At<f64>, f64)>>,
    zone: Option<Zone>,
}

/// All zones; `None` where one of them is faulty.
pub(super) fn read_zones(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Zone>> {
    let drafts: Vec<Draft<'_, '_>> = root
        .blocks("zones")
        .into_iter()
        .map(|b| read_zone(b, known))
        .collect();
    unique(root.faults, "zones", drafts.iter().filter_map(|d| d.id.as_ref()));
    check_main_body(root, &drafts);
    check_shares(root.faults, &drafts, root.has("hypsography"));
    for draft in &drafts {
        check_inflow(draft, known);
    }
    check_rivers(&drafts, known);
    let mut zones: Vec<Zone> = drafts.into_iter().map(|d| d.zone).collect::<Option<_>>()?;
    let full_pool_m = known.full_pool_m.as_ref()?.value;
    let arms = zones.iter().any(|zone| zone.kind == ZoneKind::Arm);
    for main in zones
        .iter_mut()
        .filter(|zone| zone.kind == ZoneKind::MainBody && !arms)
    {
        if main.area_share.is_empty() {
            main.area_share.push((full_pool_m, 1.0)); // without arms the lake is all main body
        }
    }
    Some(zones)
}

fn read_zone<'b, 'i>(block: Block<'b, 'i>, known: &Known<'_>) -> Draft<'b, 'i> {
    let (id, name) = (block.id("id"), block.text("name"));
    let kind = block.word("kind").map(|word| match word.value {
        "main-body" => ZoneKind::MainBody,
        "arm" => ZoneKind::Arm,
        _ => ZoneKind::River,
    });
    let above = block.reference("above", &known.ids("zones"));
    check_above(&block, kind, above.as_ref(), known);
    let inflow = block.reference("inflow", &known.ids("inflows"));
    if matches!(kind, Some(ZoneKind::MainBody | ZoneKind::Arm)) {
        block.refuse(
            "inflow",
            "no such key in a main body or arm: its inflows name it with enters",
        );
    }
    if kind == Some(ZoneKind::River) {
        for stem in ["area_share", "thalweg", "orientation_deg", "fetch"] {
            block.refuse(stem, "nothing of the kind in a river: it is no part of the pool");
        }
    }
    let area_share = read_shares(&block);
    let thalweg = read_thalweg(&block, known);
    let fetch = read_fetch(&block);
    let outline = read_outline(&block, known);
    let orientation_deg = block.number("orientation_deg").map(|at| at.value);
    let zone = (|| {
        Some(Zone {
            id: ZoneId::new(id.as_ref()?.value.as_str()),
            name: name?.value,
            kind: kind?,
            above: above.map(|above| ZoneId::new(above.value)),
            inflow: inflow.as_ref().map(|inflow| InflowId::new(inflow.value.as_str())),
            area_share: area_share
                .as_ref()?
                .iter()
                .map(|(e, share)| (e.value, *share))
                .collect(),
            thalweg: thalweg?,
            orientation_deg,
            fetch: fetch?,
            outline: outline?,
        })
    })();
    Draft {
        block,
        id,
        kind,
        inflow,
        area_share,
        zone,
    }
}

fn check_above(block: &Block<'_, '_>, kind: Option<ZoneKind>, above: Option<&At<String>>, known: &Known<'_>) {
    match (kind, above) {
        (Some(ZoneKind::River), None) if !block.has("above") => {
            block.missing("above", "since the zone is a river");
        }
        (Some(ZoneKind::River), Some(above)) if known.zone_kind(&above.value) == "river" => {
            let found = format!("above = {}, a river", quote(&above.value));
            block.fault(
                &above.span,
                found,
                "an arm or the main body",
                "name the zone that the river flows into",
            );
        }
        (Some(ZoneKind::MainBody | ZoneKind::Arm), _) => {
            block.refuse(
                "above",
                "no such key in a main body or arm: only a river lies above another zone",
            );
        }
        _ => {}
    }
}

fn read_shares(block: &Block<'_, '_>) -> Option<Vec<(At<f64>, f64)>> {
    let rows: Vec<_> = block
        .blocks("area_share")
        .iter()
        .map(|b| (b.measure("elevation"), b.number("share_frac")))
        .collect();
    increasing(block, rows.iter().filter_map(|r| r.0.as_ref()), "elevation");
    rows.into_iter()
        .map(|(elevation, share)| Some((elevation?, share?.value)))
        .collect()
}

fn read_thalweg(block: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<ThalwegPoint>> {
    let blocks = block.blocks("thalweg");
    let rows: Vec<_> = blocks
        .iter()
        .map(|b| {
            (
                b.measure("distance"),
                b.measure("bed_elevation"),
                b.measure("width"),
                read_place(b, known),
            )
        })
        .collect();
    if let Some(first) = rows.first().and_then(|r| r.0.as_ref())
        && first.value != 0.0
    {
        let mend = "begin at the mouth (of the main body: at the dam)";
        block.fault(
            &first.span,
            format!("a thalweg that begins at {} m", plain(first.value)),
            "a first distance of 0",
            mend,
        );
    }
    increasing(block, rows.iter().filter_map(|r| r.0.as_ref()), "distance");
    for bed in rows.iter().filter_map(|r| r.1.as_ref()) {
        below_full(block, bed, "the bed", known);
        above_bed(block, bed, "the bed", known);
    }
    let placed = rows.iter().filter(|r| r.3.is_some()).count();
    if placed > 0
        && placed < rows.len()
        && let Some(list) = block.raw("thalweg")
    {
        let found = format!("a thalweg with a position in {placed} of {} rows", rows.len());
        let mend = "give each row its position, or take those that there are out";
        block.fault(&list.span(), found, "a position in every row or in none", mend);
    }
    let points = rows.into_iter().map(|(distance, bed, width, position)| {
        Some(ThalwegPoint {
            distance_m: distance?.value,
            bed_elevation_m: bed?.value,
            width_m: width?.value,
            position,
        })
    });
    points.collect()
}

/// Where a point of a thalweg is.
fn read_place(block: &Block<'_, '_>, known: &Known<'_>) -> Option<(f64, f64)> {
    let position = block.position("position")?;
    near_lake(block, &position, known);
    Some(position.value)
}

/// Notes an elevation below the lowest row of the hypsography.
pub(super) fn above_bed(block: &Block<'_, '_>, elevation: &At<f64>, what: &str, known: &Known<'_>) {
    if let Some(bed_m) = known.bed_m
        && elevation.value < bed_m - 1e-6
    {
        let wanted = format!("nothing below the first row of the hypsography, {}", feet(bed_m));
        let mend = "correct it, or begin the hypsography at the deepest bed";
        block.fault(
            &elevation.span,
            format!("{what} at {}", feet(elevation.value)),
            wanted,
            mend,
        );
    }
}

fn read_fetch(block: &Block<'_, '_>) -> Option<Vec<(f64, f64)>> {
    let rows: Vec<_> = block
        .blocks("fetch")
        .iter()
        .map(|b| (b.number("direction_deg"), b.measure("fetch")))
        .collect();
    increasing(block, rows.iter().filter_map(|r| r.0.as_ref()), "direction");
    rows.into_iter()
        .map(|(direction, fetch)| Some((direction?.value, fetch?.value)))
        .collect()
}

/// The hills round the lake.
pub(super) fn read_horizon(root: &Block<'_, '_>) -> Option<Vec<(f64, f64)>> {
    let blocks = root.blocks("horizon");
    let rows: Vec<_> = blocks
        .iter()
        .map(|b| (b.number("direction_deg"), b.number("height_deg")))
        .collect();
    increasing(root, rows.iter().filter_map(|r| r.0.as_ref()), "direction");
    rows.into_iter()
        .map(|(direction, height)| Some((direction?.value, height?.value)))
        .collect()
}

/// Notes each value that is not greater than the one before.
pub(super) fn increasing<'v>(block: &Block<'_, '_>, values: impl Iterator<Item = &'v At<f64>>, what: &str) {
    let mut before: Option<&At<f64>> = None;
    for at in values {
        if let Some(before) = before
            && at.value <= before.value
        {
            let found = format!("a {what} that does not grow from row to row");
            let wanted = format!("a greater {what} than in the row before");
            block.fault(
                &at.span,
                found,
                wanted,
                "put the rows in order, smallest first, each once",
            );
        }
        before = Some(at);
    }
}

fn check_main_body(root: &Block<'_, '_>, drafts: &[Draft<'_, '_>]) {
    let mains: Vec<_> = drafts
        .iter()
        .filter(|d| d.kind == Some(ZoneKind::MainBody))
        .collect();
    for second in mains.iter().skip(1) {
        let mend = "make it an arm, or join the two";
        root.fault(
            &second.block.span,
            "a second main body",
            "one zone of kind \"main-body\"",
            mend,
        );
    }
    // With a zone of unknown kind the main body may be that one, which has its fault already.
    if let Some(first) = drafts.first()
        && mains.is_empty()
        && drafts.iter().all(|d| d.kind.is_some())
    {
        let mend = "give the zone at the dam kind = \"main-body\"";
        root.fault(
            &first.block.span,
            "zones without a main body",
            "one zone of kind \"main-body\"",
            mend,
        );
    }
}

/// Water that is said to come in needs an inflow: that of an arm, and that of a river.
fn check_inflow(draft: &Draft<'_, '_>, known: &Known<'_>) {
    let Some(id) = &draft.id else { return };
    let (what, zone) = match (
        draft.kind,
        draft.zone.as_ref().and_then(|zone| zone.above.as_ref()),
    ) {
        (Some(ZoneKind::Arm), _) => ("arm", id.value.as_str()),
        // A river above an arm would only repeat the arm's fault.
        (Some(ZoneKind::River), Some(above)) if known.zone_kind(above.as_str()) == "main-body" => {
            ("river", above.as_str())
        }
        _ => return,
    };
    // An inflow that enters an unknown zone has its fault already, and may be meant for this one.
    let unresolved = known
        .enters
        .iter()
        .any(|enters| !known.zones.iter().any(|(zone, _)| zone == enters));
    if !unresolved && !known.enters.iter().any(|enters| enters == zone) {
        let found = format!("{what} {} without an inflow", quote(&id.value));
        let mend = format!("add [[inflows]] with enters = {}", quote(zone));
        draft.block.fault(
            &id.span,
            found,
            format!("an inflow that enters {}", quote(zone)),
            mend,
        );
    }
}

/// Which inflow a river is: said where several rivers lie above one zone, and then one that enters it.
fn check_rivers(drafts: &[Draft<'_, '_>], known: &Known<'_>) {
    let rivers: Vec<(&Draft<'_, '_>, &str)> = drafts
        .iter()
        .filter(|draft| draft.kind == Some(ZoneKind::River))
        .filter_map(|draft| Some((draft, draft.zone.as_ref()?.above.as_ref()?.as_str())))
        .collect();
    let mut named: Vec<&str> = Vec::new();
    for (draft, above) in &rivers {
        let Some(inflow) = &draft.inflow else {
            let siblings = rivers.iter().filter(|(_, other)| other == above).count();
            if siblings > 1 && !draft.block.has("inflow") {
                let why = format!("since several rivers lie above {}", quote(above));
                draft.block.missing("inflow", &why);
            }
            continue;
        };
        let enters = known.entering.iter().find(|(id, _)| id == &inflow.value);
        // An inflow that enters an unknown zone has its fault already, and may be meant for this one.
        let elsewhere = enters
            .filter(|(_, zone)| zone != above && !known.zone_kind(zone).is_empty())
            .map(|(_, zone)| zone);
        if let Some(zone) = elsewhere {
            let found = format!("inflow = {}, which enters {}", quote(&inflow.value), quote(zone));
            let wanted = format!("an inflow that enters {}", quote(above));
            draft
                .block
                .fault(&inflow.span, found, wanted, "correct inflow, or above");
        } else if named.contains(&inflow.value.as_str()) {
            let found = format!("a second river of inflow {}", quote(&inflow.value));
            draft.block.fault(
                &inflow.span,
                found,
                "each inflow in one river",
                "name this river's own inflow",
            );
        }
        named.push(&inflow.value);
    }
}

fn check_shares(faults: &Faults<'_>, drafts: &[Draft<'_, '_>], hypsography: bool) {
    let water: Vec<_> = drafts
        .iter()
        .filter(|d| d.kind != Some(ZoneKind::River))
        .collect();
    let arms = water.iter().any(|d| d.kind == Some(ZoneKind::Arm));
    let absent: Vec<_> = water
        .iter()
        .filter(|d| d.kind.is_some() && !d.block.has("area_share"))
        .collect();
    // A lake of one body without shares is all main body; without a hypsography shares are of use to no one.
    if arms && (hypsography || absent.len() < water.len()) {
        for draft in &absent {
            draft.block.missing("area_share", "since the lake has arms");
        }
    }
    if !absent.is_empty() || water.iter().any(|d| d.kind.is_none()) {
        return;
    }
    let Some(tables) = water
        .iter()
        .map(|d| d.area_share.as_ref())
        .collect::<Option<Vec<_>>>()
    else {
        return;
    };
    // Elevations out of order have their fault already.
    if tables
        .iter()
        .any(|t| t.is_empty() || t.windows(2).any(|w| w[1].0.value <= w[0].0.value))
    {
        return;
    }
    let mut done: Vec<f64> = Vec::new();
    for (elevation, _) in tables.iter().flat_map(|t| t.iter()) {
        let sum: f64 = tables.iter().map(|t| share_at(t, elevation.value)).sum();
        if (sum - 1.0).abs() > SHARE_TOLERANCE_FRAC && !done.contains(&elevation.value) {
            let found = format!(
                "shares that add up to {} at {}",
                plain(sum),
                feet(elevation.value)
            );
            let wanted =
                format!("a sum of 1 over all zones at each elevation ({SHARE_TOLERANCE_FRAC} of tolerance)");
            faults.add(
                elevation.span.start,
                found,
                wanted,
                "correct the shares at this elevation; between rows they are linear",
            );
        }
        done.push(elevation.value);
    }
}

fn share_at(rows: &[(At<f64>, f64)], elevation_m: f64) -> f64 {
    let above = rows
        .iter()
        .position(|(e, _)| e.value > elevation_m)
        .unwrap_or(rows.len());
    if above == 0 {
        return rows[0].1;
    }
    let (low, s0) = &rows[above - 1];
    rows.get(above).map_or(*s0, |(high, s1)| {
        s0 + (s1 - s0) * (elevation_m - low.value) / (high.value - low.value)
    })
}
