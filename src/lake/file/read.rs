//! The whole file: syntax, keys of the top, then block by block.

use std::io::Read as _;
use std::path::Path;

use chrono_tz::{TZ_VARIANTS, Tz};
use toml::de::DeTable;

use super::block::{Block, QUESTION, nearest, quote};
use super::fault::{At, Fault, Faults};
use super::fish::{read_boat, read_ladder, read_links, read_species, read_stocking};
use super::hindcast::read_hindcast;
use super::inflows::read_inflows;
use super::known::{Known, choose, species_of};
use super::model_factors::read_model_factors;
use super::notices::read_notices;
use super::places::{read_hazards, read_outlets, read_ramps, read_stretches};
use super::planned_release::read_planned_release;
use super::series::{check_contact, read_official_alerts, read_series};
use super::shape::{feet, read_clarity, read_hypsography, read_hypsography_table, read_oxygen};
use super::turnover::read_turnover;
use super::zones::{read_horizon, read_zones};
use crate::lake::{Lake, LakeError, ServiceRule};

/// Most bytes of a lake file (project choice): a page or two, and then much more.
const FILE_CAP_BYTES: u64 = 16 * 1024 * 1024;

/// Reads a lake file from disk.
///
/// # Errors
/// [`LakeError::Unreadable`] when the file cannot be read, [`LakeError::Faulty`] with every fault.
pub fn read_lake_file(file: &Path, services: &[ServiceRule]) -> Result<Lake, LakeError> {
    let bytes = bytes_of(file)?;
    read_lake_bytes(&bytes, file, services).map_err(|faults| LakeError::Faulty {
        file: file.to_owned(),
        faults,
    })
}

/// Reads a lake file from disk and checks that each of its species is one of `species`, those that there are
/// rules for.
///
/// # Errors
/// As [`read_lake_file`].
pub fn read_known_lake_file(
    file: &Path,
    services: &[ServiceRule],
    species: &[&str],
) -> Result<Lake, LakeError> {
    let bytes = bytes_of(file)?;
    let strangers = unknown_species(&bytes, file, species);
    let mut faults = match read_lake_bytes(&bytes, file, services) {
        Ok(lake) if strangers.is_empty() => return Ok(lake),
        Ok(_) => Vec::new(),
        Err(faults) => faults,
    };
    faults.extend(strangers);
    faults.sort_by_key(|f| (f.line, f.column));
    Err(LakeError::Faulty {
        file: file.to_owned(),
        faults,
    })
}

/// The bytes of a file, no more of them than any lake file has: a device may have no end.
fn bytes_of(file: &Path) -> Result<Vec<u8>, LakeError> {
    let mut bytes = Vec::new();
    let read = std::fs::File::open(file)
        .and_then(|open| open.take(FILE_CAP_BYTES + 1).read_to_end(&mut bytes))
        .and_then(|_| match bytes.len() as u64 {
            ..=FILE_CAP_BYTES => Ok(bytes),
            _ => Err(std::io::Error::other(format!(
                "it holds more than {FILE_CAP_BYTES} bytes"
            ))),
        });
    read.map_err(|source| LakeError::Unreadable {
        file: file.to_owned(),
        source,
    })
}

/// A fault for each species that is none of `species`; none where the bytes are no TOML at all, which the
/// reading itself finds.
fn unknown_species(bytes: &[u8], file: &Path, species: &[&str]) -> Vec<Fault> {
    let text = String::from_utf8_lossy(bytes);
    let faults = Faults::new(file, &text);
    if let Ok(document) = DeTable::parse(&text) {
        for (id, at) in species_of(document.get_ref()) {
            // An open question has its fault already.
            if id.trim() != QUESTION && !species.contains(&id.as_str()) {
                faults.add(
                    at,
                    format!("id = {}", quote(&id)),
                    format!("a species that the program has a file of: {}", species.join(", ")),
                    choose(&id, species),
                );
            }
        }
    }
    faults.into_sorted()
}

/// Reads the bytes of a lake file; `file` is its name in faults.
///
/// # Errors
/// Every fault, in the order of the file; bytes that are no UTF-8 are one fault, alone.
pub fn read_lake_bytes(bytes: &[u8], file: &Path, services: &[ServiceRule]) -> Result<Lake, Vec<Fault>> {
    match std::str::from_utf8(bytes) {
        Ok(text) => read_lake(text, file, services),
        Err(broken) => {
            let (sound, rest) = bytes.split_at(broken.valid_up_to());
            // The cut is where the check of UTF-8 stopped, so nothing is replaced here.
            let before = String::from_utf8_lossy(sound);
            let faults = Faults::new(file, &before);
            let found = format!(
                "byte 0x{:02X}, which is not UTF-8",
                rest.first().copied().unwrap_or_default()
            );
            faults.add(
                before.len(),
                found,
                "a TOML document in UTF-8",
                "save the file as UTF-8 text",
            );
            Err(faults.into_sorted())
        }
    }
}

/// Reads and checks the text of a lake file against the services there are.
///
/// # Errors
/// Every fault, in the order of the file; a fault of TOML's syntax stands alone, since nothing after
/// it can be trusted.
pub fn read_lake(text: &str, file: &Path, services: &[ServiceRule]) -> Result<Lake, Vec<Fault>> {
    let faults = Faults::new(file, text);
    let lake = match DeTable::parse(text) {
        Ok(document) => read_document(document.get_ref(), &faults, services),
        Err(error) => {
            let at = error.span().map_or(text.len(), |span| span.start);
            let found = quote(&error.message().to_lowercase())
                .trim_matches('"')
                .to_owned();
            faults.add(
                at,
                found,
                "a TOML document",
                "correct the line; nothing else was checked",
            );
            None
        }
    };
    match (lake, faults.into_sorted()) {
        (Some(lake), faults) if faults.is_empty() => Ok(lake),
        (_, faults) => Err(faults),
    }
}

fn read_document(root: &DeTable<'_>, faults: &Faults<'_>, services: &[ServiceRule]) -> Option<Lake> {
    let mut known = Known::of(root, services);
    let block = Block::new(faults, "", root, 0..0);
    let (id, name) = (block.id("id"), block.text("name"));
    let (note, contact) = (block.text("note"), block.text("contact"));
    let (latitude, longitude) = (block.number("latitude"), block.number("longitude"));
    known.position = latitude
        .as_ref()
        .zip(longitude.as_ref())
        .map(|(lat, lon)| (lat.value, lon.value));
    let time_zone = read_time_zone(&block);
    let vertical_datum = block.text("vertical_datum");
    let (full, minimum) = read_pools(&block);
    (known.full_pool_m, known.minimum_pool_m) = (full.clone(), minimum.clone());

    let hypsography_block = block.block("hypsography");
    let in_file = hypsography_block.as_ref().is_some_and(|b| b.has("file"));
    let (rows_block, table_block) = match &hypsography_block {
        Some(b) if in_file => (None, Some(b)),
        rows => (rows.as_ref(), None),
    };
    let hypsography = rows_block.map(|b| read_hypsography(b, &known));
    let hypsography_table = table_block.map(read_hypsography_table);
    known.bed_m = hypsography
        .as_ref()
        .and_then(|h| h.as_ref())
        .and_then(|h| h.bed_elevation_m());
    let zones = read_zones(&block, &known);
    let stretches = read_stretches(&block, &known);
    let ramps = read_ramps(&block, &known);
    let inflows = read_inflows(&block, &known);
    let outlets = read_outlets(&block, &known);
    let hazards = read_hazards(&block, &known);
    let clarity = block.block("clarity").map(|b| read_clarity(&b));
    let oxygen = block.block("oxygen").map(|b| read_oxygen(&b));
    let species = read_species(&block);
    let stocking = read_stocking(&block, &known);
    let planned_release = read_planned_release(&block);
    let ladder = read_ladder(&block, &known);
    let boat = block.block("boat").map(|b| read_boat(&b));
    let horizon = read_horizon(&block);
    let links = block.block("links").map(|b| read_links(&b));
    let notices = read_notices(&block, &known);
    let series = read_series(&block, &known);
    let water_readings = block.text("water_readings").map(|at| at.value.into());
    let official_alerts = block
        .block("official_alerts")
        .map(|b| read_official_alerts(&b, &known));
    check_contact(&block, &known);
    let model_factors = read_model_factors(&block);
    let turnover = block.block("turnover").map(|b| read_turnover(&b));
    let hindcast = block
        .block("hindcast")
        .map(|b| read_hindcast(&b, &known, outlets.as_deref()));
    Some(Lake {
        id: id?.value,
        name: name?.value,
        note: note.map(|at| at.value),
        latitude_deg: latitude?.value,
        longitude_deg: longitude?.value,
        time_zone: time_zone?,
        contact: contact.map(|at| at.value),
        vertical_datum: vertical_datum?.value,
        full_pool_elevation_m: full?.value,
        minimum_pool_elevation_m: minimum?.value,
        hypsography: whole(hypsography)?,
        hypsography_table: whole(hypsography_table)?,
        zones: zones?,
        stretches: stretches?,
        ramps: ramps?,
        inflows: inflows?,
        outlets: outlets?,
        hazards: hazards?,
        clarity: whole(clarity)?,
        oxygen: whole(oxygen)?,
        species: species?,
        stocking: stocking?,
        planned_release: planned_release?,
        ladder: ladder?,
        boat: whole(boat)?,
        series: series?,
        water_readings,
        official_alerts: whole(official_alerts)?,
        model_factors: model_factors?,
        turnover: whole(turnover)?,
        horizon: horizon?,
        links: whole(links)?.unwrap_or_default(),
        notices: notices?,
        hindcast: whole(hindcast)?,
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

fn read_time_zone(block: &Block<'_, '_>) -> Option<Tz> {
    let text = block.text("time_zone")?;
    let zone = text.value.parse::<Tz>().ok();
    if zone.is_none() {
        let names: Vec<&str> = TZ_VARIANTS.iter().map(|zone| zone.name()).collect();
        let mend = match nearest(&text.value, names.iter().copied()) {
            Some(_) => choose(&text.value, &names),
            None => "write a name such as \"America/Los_Angeles\"".to_owned(),
        };
        let found = format!("time_zone = {}", quote(&text.value));
        block.fault(&text.span, found, "an IANA time zone", mend);
    }
    zone
}

fn read_pools(block: &Block<'_, '_>) -> (Option<At<f64>>, Option<At<f64>>) {
    let (full, minimum) = (
        block.measure("full_pool_elevation"),
        block.measure("minimum_pool_elevation"),
    );
    if let (Some(full), Some(minimum)) = (&full, &minimum)
        && minimum.value >= full.value
    {
        let found = format!("a minimum pool at {}", feet(minimum.value));
        let wanted = format!("less than the full pool, {}", feet(full.value));
        block.fault(
            &minimum.span,
            found,
            wanted,
            "check both numbers, their units and their datum",
        );
    }
    (full, minimum)
}
