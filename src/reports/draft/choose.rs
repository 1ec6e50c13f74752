//! Which of the series found are likely the lake's own. Project choices, all of them: a draft is read by its user.

use super::groups::{Group, groups_of};
use super::value::{Draft, DraftFacts, DraftInflow, DraftSeries, FAR_M, LakeDatum};
use super::weather::weather;
use crate::lake::{Cadence, InflowId, SeriesPlace, SeriesSource, ZoneId};
use crate::quantity::Quantity;
use crate::sources::{Candidate, Site, nws};

/// Most inflows that a draft takes: the others stand commented out.
const MOST_INFLOWS: usize = 3;
/// Words in a gauge's name that put it below a dam, and above a lake.
const BELOW: [&str; 8] = [
    "BELOW",
    "BLW",
    "BL",
    "BELW",
    "OUTLET",
    "OUTFLOW",
    "TAILWATER",
    "TAILRACE",
];
const ABOVE: [&str; 5] = ["ABOVE", "ABV", "AB", "INFLOW", "INLET"];
/// Words of a lake's name that tell it from no other.
const COMMON: [&str; 6] = ["LAKE", "RESERVOIR", "RES", "DAM", "THE", "AT"];
/// Code of the daily mean, where a service has several daily statistics.
const MEAN: &str = "00003";

/// The draft of a lake from what was found.
pub fn draft_of(facts: DraftFacts) -> Draft {
    let groups = groups_of(&facts.candidates);
    let rule = Rule { facts: &facts };
    let mut series = Vec::new();
    let pool = rule.of_lake(&groups, Quantity::PoolElevation, None);
    let datum = lake_datum(&facts, pool);
    series.extend(pool.map(|group| elevation(group, &datum)));
    let station = pool.map(|group| group.first().station.clone());
    for (id, quantity) in [
        ("storage", Quantity::Storage),
        ("water-temp", Quantity::WaterTemp),
    ] {
        let chosen = rule.of_lake(&groups, quantity, station.as_deref());
        series.extend(chosen.map(|group| series_of(id, quantity, group)));
    }
    let release = rule.release(&groups);
    series.extend(release.map(|group| series_of("release", Quantity::Release, group)));
    let gauges = rule.inflows(&groups, release);
    let mut inflows: Vec<DraftInflow> = Vec::new();
    for gauge in gauges {
        let inflow = DraftInflow {
            id: unused(&slug(&gauge.first().name), &inflows),
            name: gauge.first().name.clone(),
        };
        series.extend(at_inflow(&inflow, gauge, &groups, &rule));
        inflows.push(inflow);
    }
    series.extend(weather(&facts.candidates));
    let alerts = facts.candidates.iter().any(|c| c.service == nws::NAME);
    let taken = |group: &Group| series.iter().any(|s| s.group.as_ref() == Some(group));
    let others = groups.iter().filter(|group| !taken(group)).cloned().collect();
    Draft {
        datum,
        inflows,
        others,
        alerts,
        series,
        facts,
    }
}

/// The datum of the file: the user's word, else that of the pool gauge where its service states it and no table
/// of another or unstated datum stands beside it.
fn lake_datum(facts: &DraftFacts, pool: Option<&Group>) -> LakeDatum {
    let of_gauge = pool.and_then(|group| group.first().datum.clone());
    if let Some(named) = &facts.datum {
        return LakeDatum::Named(named.clone());
    }
    let table_agrees = facts.capacity.is_none() || facts.capacity_datum == of_gauge;
    match of_gauge {
        Some(datum) if table_agrees => LakeDatum::OfGauge(datum),
        of_gauge => LakeDatum::Asked(of_gauge),
    }
}

/// The pool's elevation. An offset of 0 only where the service states the very datum of the file.
fn elevation(group: &Group, lake: &LakeDatum) -> DraftSeries {
    let stated = group.first().datum.clone();
    let same = match lake {
        LakeDatum::Named(datum) | LakeDatum::OfGauge(datum) => stated.as_ref() == Some(datum),
        LakeDatum::Asked(_) => false,
    };
    let mut series = series_of("pool", Quantity::PoolElevation, group);
    if same {
        series.source.datum_offset_m = Some(0.0);
        series.source.datum_source = Some(format!(
            "the datum of the file is that of the gauge, as {} states it of parameter {}",
            group.first().service,
            group.first().parameter
        ));
    }
    series.datum = stated;
    series
}

struct Rule<'f> {
    facts: &'f DraftFacts,
}

impl Rule<'_> {
    fn runs(&self, group: &Group) -> bool {
        group.is_running(self.facts.today)
    }

    /// Whether a station bears a word of the lake's name.
    fn bears_name(&self, group: &Group) -> bool {
        let name = self.facts.name.clone().unwrap_or_default().to_uppercase();
        let telling: Vec<&str> = words(&name).filter(|w| !COMMON.contains(w)).collect();
        let station = group.first().name.to_uppercase();
        !telling.is_empty() && telling.iter().all(|w| words(&station).any(|other| other == *w))
    }

    /// The nearest running series of the lake itself; of several at one station that whose datum is stated, then
    /// the longest. `station` is that of the pool, which goes first.
    fn of_lake<'g>(
        &self,
        groups: &'g [Group],
        quantity: Quantity,
        station: Option<&str>,
    ) -> Option<&'g Group> {
        let fits = |group: &&Group| {
            let first = group.first();
            let near = first.distance_m.is_some_and(|away_m| away_m <= FAR_M) || self.bears_name(group);
            let lake = match quantity {
                // A stream gauge has a water temperature too.
                Quantity::WaterTemp => group.is_at_reservoir(),
                _ => first.site != Site::Weather,
            };
            group.is_of(quantity) && self.runs(group) && near && lake
        };
        groups.iter().filter(fits).min_by(|a, b| {
            let key = |g: &Group| {
                let at_pool = station.is_some_and(|s| s == g.first().station);
                (!at_pool, !self.bears_name(g))
            };
            let far = |g: &Group| g.first().distance_m.unwrap_or(f64::INFINITY);
            key(a)
                .cmp(&key(b))
                .then(far(a).total_cmp(&far(b)))
                .then(a.first().datum.is_none().cmp(&b.first().datum.is_none()))
                .then(a.since().cmp(&b.since()))
        })
    }

    /// The nearest running flow that is the lake's release: one that can be nothing else, or a gauge whose name
    /// says that it stands below a dam.
    fn release<'g>(&self, groups: &'g [Group]) -> Option<&'g Group> {
        let fits = |group: &&Group| {
            let only = group.first().quantities == [Quantity::Release];
            let below = has(group, &BELOW) && !has(group, &ABOVE);
            group.is_of(Quantity::Release) && self.runs(group) && (only || below)
        };
        groups
            .iter()
            .filter(fits)
            .min_by_key(|group| !self.bears_name(group))
    }

    /// Running flows that may enter the lake: those whose names say so first, then the nearest.
    fn inflows<'g>(&self, groups: &'g [Group], release: Option<&Group>) -> Vec<&'g Group> {
        let fits = |group: &&Group| {
            let only = group.first().quantities == [Quantity::Inflow];
            let gauge = group.first().site == Site::River || only;
            group.is_of(Quantity::Inflow)
                && self.runs(group)
                && gauge
                && !has(group, &BELOW)
                && Some(*group) != release
        };
        let mut found: Vec<&Group> = groups.iter().filter(fits).collect();
        found.sort_by_key(|group| !has(group, &ABOVE));
        found.truncate(MOST_INFLOWS);
        found
    }
}

/// Flow, temperature and turbidity of an inflow, all at its gauge.
fn at_inflow(inflow: &DraftInflow, gauge: &Group, groups: &[Group], rule: &Rule<'_>) -> Vec<DraftSeries> {
    let place = SeriesPlace::Inflow(InflowId::new(inflow.id.as_str()));
    let kinds = [
        ("flow", Quantity::Inflow),
        ("temp", Quantity::RiverTemp),
        ("turbidity", Quantity::Turbidity),
    ];
    let mut series = Vec::new();
    for (end, quantity) in kinds {
        let own = |group: &&Group| {
            group.first().service == gauge.first().service
                && group.first().station == gauge.first().station
                && group.is_of(quantity)
                && rule.runs(group)
        };
        let chosen = if quantity == Quantity::Inflow {
            Some(gauge)
        } else {
            groups.iter().find(own)
        };
        if let Some(group) = chosen {
            let mut found = series_of(&format!("{}-{end}", inflow.id), quantity, group);
            found.source.place = place.clone();
            series.push(found);
        }
    }
    series
}

/// A series that takes what a group has: daily values by the mean where there is one, and values within the day.
/// Of several sensors of one parameter the main one, by its own name, at the cadence of that one.
fn series_of(id: &str, quantity: Quantity, group: &Group) -> DraftSeries {
    let first = group.first();
    let mut daily = group.at(Cadence::Daily);
    if let Some(code) = statistic_of(&daily) {
        daily.retain(|c| c.statistic.as_deref() == Some(code.as_str()));
    }
    let within = group.at(Cadence::Continuous);
    let mut source = SeriesSource {
        station: first.station.clone(),
        ..SeriesSource::of(id, quantity, first.service, &first.parameter)
    };
    if quantity == Quantity::WaterTemp {
        source.place = SeriesPlace::Zone(ZoneId::new("main"));
    }
    let take = |source: &mut SeriesSource, candidate: &Candidate| {
        source.cadences.push(candidate.cadence);
        if candidate.cadence == Cadence::Daily {
            source.statistic.clone_from(&candidate.statistic);
            source.daily_from = candidate.since;
        }
    };
    if daily.len() > 1 || within.len() > 1 {
        let sensors = if within.is_empty() { &daily } else { &within };
        let main = sensors.iter().find(|c| c.primary).or(sensors.first());
        if let Some(main) = main {
            take(&mut source, main);
            if let Some(name) = &main.series {
                source.parameter = format!("{}/{name}", first.parameter);
            }
        }
    } else {
        for candidate in daily.iter().chain(&within) {
            take(&mut source, candidate);
        }
    }
    DraftSeries {
        source,
        group: Some(group.clone()),
        datum: None,
    }
}

/// The statistic to take: the mean, else that with the newest values.
fn statistic_of(daily: &[&Candidate]) -> Option<String> {
    let mean = daily.iter().find(|c| c.statistic.as_deref() == Some(MEAN));
    let newest = || daily.iter().max_by_key(|c| c.until);
    mean.or_else(newest)?.statistic.clone()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
}

fn has(group: &Group, list: &[&str]) -> bool {
    let name = group.first().name.to_uppercase();
    words(&name).any(|word| list.contains(&word))
}

/// An id from a name: at most four of its words.
fn slug(name: &str) -> String {
    let lower: String = name
        .chars()
        .filter(char::is_ascii)
        .map(|c| c.to_ascii_lowercase())
        .collect();
    let short: Vec<&str> = words(&lower).take(4).collect();
    let text: String = short.join("-").chars().take(40).collect();
    if text.is_empty() {
        "inflow".to_owned()
    } else {
        text
    }
}

/// The id, with a number behind it where another inflow has it.
fn unused(id: &str, inflows: &[DraftInflow]) -> String {
    let is_free = |text: &str| inflows.iter().all(|inflow| inflow.id != text);
    let numbered = (2..).map(|n| format!("{id}-{n}"));
    std::iter::once(id.to_owned())
        .chain(numbered)
        .find(|text| is_free(text))
        .unwrap_or_else(|| id.to_owned())
}
