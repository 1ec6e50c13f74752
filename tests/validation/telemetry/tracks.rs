//! From the tables to fish: where each was heard by day and by week, while its tag was live, and how many receivers listened.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Datelike, Days, Duration, FixedOffset, NaiveDate, NaiveTime, Utc};
use plungeline::skill::telemetry::hidden::{Design, History};
use plungeline::skill::telemetry::{MONTHS, Track};

use super::areas::{AREAS, Lines, MAIN, RIVER, WEST, area_of};
use super::record::{Capture, Deployment, Record, RecordError};

/// Hours that the lake's standard time is behind UTC.
const BEHIND_UTC_H: i32 = 8;
/// A tag that one section alone hears for so many days at the end of its record, on this part of them, may lie on the bed: its
/// record ends where that begins (project choice; common practice, no source).
const STILL_DAYS: i64 = 90;
const STILL_FRAC: f64 = 0.9;

/// The tagged fish of one species, and the receivers.
#[derive(Debug, Clone)]
pub struct Telemetry {
    /// Fish of the species that were captured.
    pub captured: usize,
    /// Those with a live acoustic tag before the record ends, by name.
    pub tagged: Vec<String>,
    /// Those that were heard while it was live.
    pub heard: usize,
    /// Hours at a receiver in which they were heard.
    pub receiver_hours: usize,
    /// Those of them at which the receiver stood nowhere by the table of deployments; left out.
    pub unplaced_hours: usize,
    /// Fish whose record was cut because the tag may lie on the bed.
    pub still: Vec<String>,
    /// Last day of the record.
    pub last_day: NaiveDate,
    /// By fish.
    pub tracks: Vec<Track>,
    /// By fish; fewer, since a tag must be live for a whole week.
    pub histories: Vec<History>,
    /// Areas and weeks.
    pub design: Design,
    /// First day of week 0.
    pub origin: NaiveDate,
    /// Receiver-days by month and area, from the first capture on, or from a later day that was chosen. Shape `[month][area]`.
    pub receiver_days: Vec<Vec<f64>>,
}

/// Area and section of a station.
type Place<'r> = (usize, &'r str);

/// One hour of one receiver.
#[derive(Debug, Clone, Copy)]
struct Hearing<'r> {
    at: DateTime<Utc>,
    area: usize,
    section: &'r str,
}

/// What may be chosen otherwise.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Choices {
    /// First day from which on receiver-days are counted; without it the first capture.
    pub from: Option<NaiveDate>,
    /// Last day; without it the last day on which any fish was heard.
    pub until: Option<NaiveDate>,
    /// Tags that may lie on the bed count like others.
    pub still_too: bool,
    /// To whom the lines across the lake belong.
    pub lines: Lines,
}

/// The fish of `species`.
pub fn telemetry(record: &Record, species: &str, choices: Choices) -> Result<Telemetry, RecordError> {
    let stations = stations(record, choices.lines)?;
    let captured: Vec<&Capture> = record.captures.iter().filter(|c| c.species == species).collect();
    let heard_to = record
        .detections
        .iter()
        .map(|d| standard_day(d.at))
        .max()
        .unwrap_or_default();
    let last_day = choices.until.map_or(heard_to, |day| day.min(heard_to));
    let tagged: Vec<&Capture> = (captured.iter().copied())
        .filter(|c| c.tag_expires > c.at && standard_day(c.at) <= last_day)
        .collect();
    let first_day = tagged
        .iter()
        .map(|c| standard_day(c.at))
        .min()
        .unwrap_or(last_day);
    let origin = first_day.with_ordinal(1).unwrap_or(first_day);
    let (hearings, unplaced_hours) = hearings(record, &stations, &tagged)?;
    let listening = listening(record, &stations, origin, last_day);
    let design = design(&listening, origin);
    let counted_from = choices.from.map_or(first_day, |day| day.max(first_day));
    let mut receiver_days = vec![vec![0.0; AREAS.len()]; MONTHS];
    for (day, areas) in origin
        .iter_days()
        .zip(&listening)
        .filter(|(day, _)| *day >= counted_from)
    {
        let month = &mut receiver_days[day.month0() as usize];
        month.iter_mut().zip(areas).for_each(|(sum, n)| *sum += n);
    }
    let mut found = Telemetry {
        captured: captured.len(),
        tagged: tagged.iter().map(|c| c.fish.clone()).collect(),
        heard: 0,
        receiver_hours: hearings.values().map(Vec::len).sum::<usize>() + unplaced_hours,
        unplaced_hours,
        still: Vec::new(),
        last_day,
        tracks: Vec::new(),
        histories: Vec::new(),
        design,
        origin,
        receiver_days,
    };
    for capture in tagged {
        let first = standard_day(capture.at);
        let mut last = last_day
            .min(standard_day(capture.tag_expires))
            .min(removed(record, capture));
        let mut own: Vec<Hearing<'_>> = hearings.get(capture.fish.as_str()).cloned().unwrap_or_default();
        own.retain(|h| (first..=last).contains(&standard_day(h.at)));
        found.heard += usize::from(!own.is_empty());
        if let Some(begins) = lies_still(&own).filter(|_| !choices.still_too) {
            found.still.push(capture.fish.clone());
            last = begins - Days::new(1);
            own.retain(|h| standard_day(h.at) <= last);
        }
        let start = section_area(record, &capture.section, "capture", choices.lines)?;
        let track = Track {
            first_day: first,
            last_day: last,
            start,
            heard: most_heard(&own, standard_day),
        };
        found
            .histories
            .extend(history(&track, &own, origin, found.design.month.len()));
        found.tracks.push(track);
    }
    Ok(found)
}

/// The standard day that holds an instant.
fn standard_day(at: DateTime<Utc>) -> NaiveDate {
    let behind = FixedOffset::west_opt(BEHIND_UTC_H * 3600).expect("eight hours are less than a day");
    at.with_timezone(&behind).date_naive()
}

/// The day on which an angler took the fish out of the lake; never, where nobody did.
fn removed(record: &Record, capture: &Capture) -> NaiveDate {
    let taken = |r: &&super::record::Recapture| r.fish == capture.fish && !r.released;
    let days = record.recaptures.iter().filter(taken).map(|r| standard_day(r.at));
    days.min().unwrap_or(NaiveDate::MAX)
}

fn section_area(
    record: &Record,
    section: &str,
    of: &'static str,
    lines: Lines,
) -> Result<usize, RecordError> {
    let unknown = |lacks| RecordError::Unknown {
        what: "section",
        name: section.to_owned(),
        of,
        lacks,
    };
    let row = record
        .sections
        .iter()
        .find(|s| s.name == section)
        .ok_or_else(|| unknown("section"))?;
    area_of(section, &row.habitat, lines).ok_or_else(|| unknown("map of sections to areas"))
}

/// Area and section of every station.
fn stations(record: &Record, lines: Lines) -> Result<BTreeMap<&str, Place<'_>>, RecordError> {
    let place = |s: &super::record::Station| section_area(record, &s.section, "station", lines);
    let all = record.stations.iter();
    all.map(|s| Ok((s.name.as_str(), (place(s)?, s.section.as_str()))))
        .collect()
}

/// What was heard of each tagged fish, in the order of time, and the number of hours at receivers that stood nowhere.
fn hearings<'r>(
    record: &'r Record,
    stations: &BTreeMap<&str, Place<'r>>,
    tagged: &[&'r Capture],
) -> Result<(BTreeMap<&'r str, Vec<Hearing<'r>>>, usize), RecordError> {
    let mut stood: BTreeMap<&str, Vec<(&Deployment, Place<'_>)>> = BTreeMap::new();
    for deployment in &record.deployments {
        let unknown = || RecordError::Unknown {
            what: "station",
            name: deployment.station.clone(),
            of: "deployment",
            lacks: "station",
        };
        let place = *stations.get(deployment.station.as_str()).ok_or_else(unknown)?;
        stood
            .entry(deployment.receiver.as_str())
            .or_default()
            .push((deployment, place));
    }
    let names: BTreeSet<&str> = tagged.iter().map(|c| c.fish.as_str()).collect();
    let mut found: BTreeMap<&str, Vec<Hearing<'_>>> = BTreeMap::new();
    let mut unplaced = 0;
    for detection in record
        .detections
        .iter()
        .filter(|d| names.contains(d.fish.as_str()))
    {
        // The stamp is the beginning of the hour: its middle tells where the receiver stood.
        let middle = detection.at + Duration::minutes(30);
        let spans = stood
            .get(detection.receiver.as_str())
            .map_or(&[][..], Vec::as_slice);
        match spans.iter().find(|(d, _)| d.from <= middle && middle < d.until) {
            None => unplaced += 1,
            Some((_, (area, section))) => found.entry(detection.fish.as_str()).or_default().push(Hearing {
                at: detection.at,
                area: *area,
                section,
            }),
        }
    }
    found.values_mut().for_each(|own| own.sort_by_key(|h| h.at));
    Ok((found, unplaced))
}

/// First day of the stretch in which a tag may lie on the bed, if its record ends with one.
fn lies_still(own: &[Hearing<'_>]) -> Option<NaiveDate> {
    let mut sections: BTreeMap<NaiveDate, BTreeSet<&str>> = BTreeMap::new();
    for hearing in own {
        sections
            .entry(standard_day(hearing.at))
            .or_default()
            .insert(hearing.section);
    }
    let (last, only) = sections.last_key_value().filter(|(_, s)| s.len() == 1)?;
    let run: Vec<&NaiveDate> = sections
        .iter()
        .rev()
        .take_while(|(_, s)| *s == only)
        .map(|(d, _)| d)
        .collect();
    let begins = **run.last()?;
    let length = (*last - begins).num_days() + 1;
    (length >= STILL_DAYS && run.len() as f64 >= STILL_FRAC * length as f64).then_some(begins)
}

/// The area with the most hours at receivers in each span of time; of equals the one heard last, then the later in the list.
fn most_heard<K: Ord>(own: &[Hearing<'_>], span: impl Fn(DateTime<Utc>) -> K) -> BTreeMap<K, usize> {
    let mut by_span: BTreeMap<K, BTreeMap<usize, (usize, DateTime<Utc>)>> = BTreeMap::new();
    for hearing in own {
        let areas = by_span.entry(span(hearing.at)).or_default();
        let sum = areas.entry(hearing.area).or_insert((0, hearing.at));
        *sum = (sum.0 + 1, sum.1.max(hearing.at));
    }
    let most = |areas: BTreeMap<usize, (usize, DateTime<Utc>)>| {
        let best = areas
            .into_iter()
            .max_by_key(|(area, (hours, last))| (*hours, *last, *area));
        best.map(|(area, _)| area)
    };
    by_span
        .into_iter()
        .filter_map(|(k, areas)| Some((k, most(areas)?)))
        .collect()
}

/// The fish by week; `None` where its tag was not live for a whole week after that of its capture.
fn history(track: &Track, own: &[Hearing<'_>], origin: NaiveDate, weeks: usize) -> Option<History> {
    let week_of = |day: NaiveDate| usize::try_from((day - origin).num_days().div_euclid(7)).ok();
    let first_week = week_of(track.first_day)?;
    // The last whole week.
    let end = week_of(track.last_day + Days::new(1))?.min(weeks);
    if end <= first_week + 1 {
        return None;
    }
    let mut heard = vec![None; end - first_week];
    for (week, area) in most_heard(own, |at| week_of(standard_day(at))) {
        if let Some(week) = week.filter(|w| (first_week + 1..end).contains(w)) {
            heard[week - first_week] = Some(area);
        }
    }
    Some(History {
        first_week,
        start: track.start,
        heard,
    })
}

/// Receivers that stood in each area at noon of each day. Shape `[day][area]`.
fn listening(
    record: &Record,
    stations: &BTreeMap<&str, Place<'_>>,
    origin: NaiveDate,
    last_day: NaiveDate,
) -> Vec<Vec<f64>> {
    let noon = |day: NaiveDate| {
        day.and_time(NaiveTime::MIN).and_utc() + Duration::hours(i64::from(12 + BEHIND_UTC_H))
    };
    let at = |day: NaiveDate| {
        let mut areas = vec![0.0; AREAS.len()];
        let stands = |d: &&Deployment| d.from <= noon(day) && noon(day) < d.until;
        let standing = record.deployments.iter().filter(stands);
        for (area, _) in standing.filter_map(|d| stations.get(d.station.as_str())) {
            areas[*area] += 1.0;
        }
        areas
    };
    origin
        .iter_days()
        .take_while(|day| *day <= last_day)
        .map(at)
        .collect()
}

/// Whole weeks. The rivers have no line across them, and are entered in months in which their receivers stand: they are put out for
/// the spawning run. The one receiver of the West Arm hears by receiver-day as those of the main lake do, since too few fish pass
/// it to tell.
fn design(listening: &[Vec<f64>], origin: NaiveDate) -> Design {
    let sum = |days: &[Vec<f64>]| -> Vec<f64> {
        (0..AREAS.len())
            .map(|a| days.iter().map(|d| d[a]).sum())
            .collect()
    };
    let months_of_days: Vec<usize> = origin
        .iter_days()
        .take(listening.len())
        .map(|d| d.month0() as usize)
        .collect();
    let stood = |month: usize| {
        let days = listening
            .iter()
            .zip(&months_of_days)
            .filter(|(_, m)| **m == month);
        days.map(|(d, _)| d[RIVER]).sum::<f64>() > 0.0
    };
    let mut may_enter = vec![[true; MONTHS]; AREAS.len()];
    may_enter[RIVER] = std::array::from_fn(stood);
    let mut hears_as: Vec<usize> = (0..AREAS.len()).collect();
    hears_as[WEST] = MAIN;
    Design {
        receiver_days: listening.chunks_exact(7).map(sum).collect(),
        // A week is of the month of its middle day.
        month: months_of_days.chunks_exact(7).map(|week| week[3]).collect(),
        lined: (0..AREAS.len()).map(|a| a != RIVER).collect(),
        may_enter,
        hears_as,
    }
}
