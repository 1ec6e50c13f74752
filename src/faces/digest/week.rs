//! What the digest says of the week behind, and of what else there is.

use super::words::Labelled;
use crate::faces::changes::{self, RuleCodes};
use crate::faces::reader::{Reader, chance};
use crate::faces::words;
use crate::lake::SpeciesId;
use crate::reports::{Digest, FigureChange, SpeciesRecord, TurnoverWindow, WhereaboutsSkill};
use crate::skill::share_record::RecordVerdict;

/// Level, inflows, surface and weather of the week.
pub fn behind(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let (week, brief) = (&digest.behind, &digest.brief);
    let mut lines = vec![(
        "Days".to_owned(),
        format!("{} to {}", reader.day(week.from), reader.day(week.to)),
    )];
    let level = |date| week.levels.iter().find(|l| l.date == date).map(|l| l.elevation_m);
    // From the day before the first: seven days of change, as the brief counts them.
    let before = week.from.pred_opt().and_then(level);
    if let Some((from_m, to_m)) = before.zip(level(week.to)) {
        // The change itself stands at the head, of the same daily means.
        let said = format!(
            "{} to {} by day means",
            reader.elevation(from_m),
            reader.elevation(to_m)
        );
        lines.push(("Level".to_owned(), said));
    }
    for inflow in &week.inflows {
        let before = inflow
            .before_m3s
            .map(|b| format!(", {} the week before", reader.discharge(b)));
        let said = format!(
            "{} on average{}; highest {} on {}",
            reader.discharge(inflow.mean_m3s),
            before.unwrap_or_default(),
            reader.discharge(inflow.highest_m3s),
            reader.day(inflow.highest_on)
        );
        lines.push((words::inflow(brief, inflow.inflow.as_str()), said));
    }
    let surface = |date| week.surfaces.iter().find(|s| s.date == date).map(|s| s.mean_degc);
    if let Some((from, to)) = surface(week.from).zip(surface(week.to)) {
        let said = format!("{} to {}", reader.temp(from), reader.temp(to));
        lines.push(("Surface".to_owned(), said));
    }
    if let Some(air) = &week.air {
        let span = air.lowest_degc.zip(air.highest_degc);
        let span = span.map(|(low, high)| format!(", {} to {}", reader.temp_number(low), reader.temp(high)));
        let rain = week
            .rain_m
            .map(|rain_m| format!(", {}", reader.rain_said(rain_m)));
        let said = format!(
            "{} on average{}{}",
            reader.temp(air.mean_degc),
            span.unwrap_or_default(),
            rain.unwrap_or_default()
        );
        lines.push(("Air".to_owned(), said));
    }
    if let Some(wind) = &week.wind {
        let gust = wind.gust_m_s.map(|g| format!(", gusts to {}", reader.speed(g)));
        let said = format!(
            "{} on average{}; windiest {} ({})",
            reader.speed(wind.mean_m_s),
            gust.unwrap_or_default(),
            reader.day(wind.windiest_on),
            reader.speed(wind.windiest_m_s)
        );
        lines.push(("Wind".to_owned(), said));
    }
    lines
}

/// Since when, and what changed.
pub fn changed(digest: &Digest, reader: &Reader) -> (String, Vec<String>) {
    let Some(since) = &digest.since else {
        let none = "No brief of a week ago is in this store, and it holds nothing to make one from.";
        return (String::new(), vec![none.to_owned()]);
    };
    let made = if since.made_again {
        "that morning made again from what the store holds now; no brief was issued then"
    } else {
        "as issued then"
    };
    let when = format!("since {}, {made}", reader.stamp(since.changes.since));
    let mut lines = changes::lines(&digest.brief, &since.changes, reader, RuleCodes::Hidden);
    // The level is the first of the figures. Its change differs a little from that of the day means at the head.
    let is_level = matches!(since.changes.figures.first(), Some(FigureChange::Level { .. }));
    if let Some(line) = lines.first_mut().filter(|_| is_level) {
        line.push_str(", by the reading of that hour");
    }
    (when, lines.iter().map(|line| words::capitalised(line)).collect())
}

/// Trips, turnover, notices, and how the week's calls did: what stands of them.
pub fn also(digest: &Digest, reader: &Reader) -> Vec<Labelled> {
    let mut lines = Vec::new();
    lines.extend(trips(digest, reader).map(|said| ("Trips".to_owned(), said)));
    if let Some(turnover) = &digest.turnover {
        lines.push(("Turnover".to_owned(), turnover_said(turnover, reader)));
    }
    for notice in &digest.notices {
        let said = format!("{}, {}", notice.name, reader.day_hour(notice.fired_at));
        lines.push(("Notice".to_owned(), said));
    }
    if let Some(record) = &digest.record {
        let name = |id: &SpeciesId| {
            let call = digest.brief.whereabouts.get(id);
            call.map_or_else(|| id.to_string(), |call| call.name.clone())
        };
        let said = record_of(record, digest.trips.is_some(), &name, reader);
        lines.extend(said.map(|said| ("Last calls".to_owned(), said)));
    }
    lines
}

/// When the lake is to turn over. One run is one past year's weather from today on.
pub(super) fn turnover_said(window: &TurnoverWindow, reader: &Reader) -> String {
    let late = reader.day(window.late);
    let dates = match (window.early, window.median) {
        (Some(early), Some(median)) => format!(
            "about {} (under 8 of 10 past years' weathers from {} to {late})",
            reader.day(median),
            reader.day(early)
        ),
        (_, median) => {
            let half = median.map(|day| format!(", as likely as not by {}", reader.day(day)));
            format!(
                "may have begun already, {} by today{}; 9 in 10 by {late}",
                chance(window.by_today_prob),
                half.unwrap_or_default()
            )
        }
    };
    format!(
        "{dates}; {} of the runs turn over by {}",
        chance(window.within_prob),
        reader.day(window.until)
    )
}

fn trips(digest: &Digest, reader: &Reader) -> Option<String> {
    let week = digest.trips.as_ref()?;
    if week.trips == 0 {
        return Some("none logged this week".to_owned());
    }
    let name = |id: &SpeciesId| {
        let call = digest.brief.whereabouts.get(id);
        call.map_or_else(|| id.to_string(), |call| call.name.clone())
    };
    let caught: Vec<String> = week
        .species
        .iter()
        .filter_map(|of| {
            let per_h = of.fish_per_rod_h?;
            Some(format!(
                "{} {} in {} rod-hours ({} an hour)",
                of.fish,
                name(&of.species),
                reader.rounded(of.rod_h, 1),
                reader.rounded(per_h, 2)
            ))
        })
        .collect();
    let blank = match week.blank_trips {
        0 => String::new(),
        blank => format!(", {blank} of them blank"),
    };
    Some(format!("{} logged{blank}: {}", week.trips, caught.join("; ")))
}

/// How the week's calls did, by species. Fish and hours are told only where the trips are: they are the owner's own.
fn record_of(
    record: &WhereaboutsSkill,
    with_catch: bool,
    name: &dyn Fn(&SpeciesId) -> String,
    reader: &Reader,
) -> Option<String> {
    let found: Vec<String> = record
        .species
        .iter()
        .filter_map(|(id, of)| {
            let band = (with_catch && of.band.fish > 0).then(|| band_said(of, reader));
            let said: Vec<String> = shares_said(of, reader).into_iter().chain(band).collect();
            (!said.is_empty()).then(|| format!("{}: {}", name(id), said.join("; ")))
        })
        .collect();
    (!found.is_empty()).then(|| found.join(". "))
}

/// The score of the shares beside that of hours alone; `None` where no trip of the week can be scored by them.
fn shares_said(of: &SpeciesRecord, reader: &Reader) -> Option<String> {
    let score = of.shares.log_score?;
    let said = format!("the shares that were called score {}", reader.rounded(score, 2));
    let Some(hours) = &of.shares.against_effort else {
        return Some(format!("{said} (0 is best)"));
    };
    let verdict = match hours.verdict {
        RecordVerdict::TooFew => "too few trips to tell which is better",
        RecordVerdict::Better => "they are better",
        RecordVerdict::Worse => "they are worse",
        RecordVerdict::NoDifference => "no difference beyond chance",
    };
    Some(format!(
        "{said}, fish spread as the hours were {} (0 is best; {verdict})",
        reader.rounded(hours.reference_score, 2)
    ))
}

fn band_said(of: &SpeciesRecord, reader: &Reader) -> String {
    format!(
        "{} of {} fish came from the depth band that was called, {} of the {} rod-hours were in it",
        of.band.fish_in_band,
        of.band.fish,
        reader.rounded(of.band.in_band_rod_h, 1),
        reader.rounded(of.band.rod_h, 1)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faces::reader::Units;
    use crate::reports::BandRecord;
    use crate::skill::share_record::{AgainstReference, ShareRecord};

    fn reader() -> Reader {
        Reader::new(Units::Us, chrono_tz::UTC)
    }

    fn record() -> WhereaboutsSkill {
        let shares = ShareRecord {
            trips: 3,
            blank: 0,
            one_zone: 0,
            impossible: 0,
            log_score: Some(0.714),
            floored: 0,
            against_effort: Some(AgainstReference {
                reference_score: 0.906,
                gained: 0.192,
                chance_prob: None,
                verdict: RecordVerdict::TooFew,
            }),
            against_long_run: None,
            reliability: None,
        };
        let band = BandRecord {
            fish: 7,
            fish_in_band: 5,
            rod_h: 12.5,
            in_band_rod_h: 6.0,
        };
        WhereaboutsSkill {
            calls: 1,
            unreadable_calls: 0,
            replayed_calls: 0,
            replayed_scored: false,
            trips: 3,
            trips_without_call: 0,
            trips_called_late: 0,
            legs_left_out: 0,
            species: [(SpeciesId::new("kokanee"), SpeciesRecord { shares, band })].into(),
        }
    }

    #[test]
    fn scores_are_told_always_and_fish_and_hours_where_trips_are_shared() {
        let of =
            |with_catch| record_of(&record(), with_catch, &SpeciesId::to_string, &reader()).expect("scored");
        let scores = "kokanee: the shares that were called score 0.71, fish spread as the hours were 0.91 (0 is best; too few trips \
                      to tell which is better)";
        assert_eq!(of(false), scores);
        let fish =
            "; 5 of 7 fish came from the depth band that was called, 6.0 of the 12.5 rod-hours were in it";
        assert_eq!(of(true), format!("{scores}{fish}"));
        let mut unscored = record();
        for of in unscored.species.values_mut() {
            of.shares.log_score = None;
        }
        assert_eq!(
            record_of(&unscored, false, &SpeciesId::to_string, &reader()),
            None
        );
    }

    #[test]
    fn a_turnover_is_told_by_its_dates_or_that_it_may_have_begun() {
        let day = |text: &str| text.parse().expect("a day");
        let window = TurnoverWindow {
            early: Some(day("2026-10-20")),
            median: Some(day("2026-10-28")),
            late: day("2026-11-04"),
            by_today_prob: 0.0,
            within_prob: 0.98,
            until: day("2026-12-31"),
        };
        let far = turnover_said(&window, &reader());
        for words in ["past years' weathers", "of the runs turn over by"] {
            assert!(far.contains(words), "{far}");
        }
        let near = TurnoverWindow {
            early: None,
            by_today_prob: 0.22,
            ..window
        };
        let near = turnover_said(&near, &reader());
        let late = reader().day(window.late);
        assert!(
            near.starts_with("may have begun already, 22 % by today"),
            "{near}"
        );
        assert!(near.contains(&format!("9 in 10 by {late}")), "{near}");
    }
}
