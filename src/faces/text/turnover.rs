//! The turnover outlook as blocks, and as text, 80 columns.

use chrono::{Datelike as _, NaiveDate};

use super::block::{Block, Curve, CurveLine, Page};
use super::layout::{Ink, render_blocks};
use super::turnover_drivers::drivers as drivers_said;
use super::turnover_words as words;
use crate::faces::reader::{Reader, chance};
use crate::reports::{DateChance, OutlookState, PlaceOutlook, TempRange, TurnoverOutlook};

/// Most rows of the table of chances.
const ROWS: usize = 12;
/// Days between its rows, the first that fits.
const STEPS_DAYS: [usize; 7] = [1, 2, 3, 5, 7, 10, 14];
/// From here on a chance is as good as certain, and the curve ends.
const END_PROB: f64 = 0.995;

/// The outlook as text for `reader`.
pub fn render_turnover_text(outlook: &TurnoverOutlook, reader: &Reader, ink: Ink) -> String {
    render_blocks(&compose_turnover(outlook, reader), ink)
}

/// The outlook as blocks.
pub fn compose_turnover(outlook: &TurnoverOutlook, reader: &Reader) -> Vec<Block> {
    let mut page = Page::default();
    page.blocks.push(Block::Title {
        name: outlook.lake.name.clone(),
        stamp: reader.stamp(outlook.as_of),
    });
    if let Some(note) = &outlook.lake.note {
        page.blocks.push(Block::Note(note.clone()));
    }
    if !outlook.enough {
        page.heading("DO NOT RELY ON THIS", "data too old or too thin");
        outlook
            .lacking
            .iter()
            .for_each(|lacking| page.item(&words::lacking(lacking)));
    }
    page.heading("TURNOVER", "when the lake mixes from top to bottom");
    match &outlook.state {
        OutlookState::OutOfSeason { next_from } => {
            let next = words::day(*next_from);
            page.text(
                &format!("Not the season: an outlook is made from {next} on. `[turnover]` in the lake file moves the season."),
                2,
            );
        }
        OutlookState::NotMade { why } => page.text(&format!("No outlook: {why}."), 2),
        OutlookState::Made { season_until, .. } => made(&mut page, outlook, reader, *season_until),
    }
    page.blocks
}

fn made(page: &mut Page, outlook: &TurnoverOutlook, reader: &Reader, until: NaiveDate) {
    for (i, place) in outlook.places.iter().enumerate() {
        let said = words::headline(place, until);
        if i == 0 {
            page.lead(&said);
        } else {
            page.item(&said);
        }
    }
    if let Some(said) = words::by_degree(&outlook.places, reader) {
        page.text(&said, 2);
    }
    if let Some(basis) = outlook
        .basis
        .as_ref()
        .filter(|basis| basis.few_analogs || basis.few_years)
    {
        page.text(&words::few(basis), 2);
    }
    if outlook.places.iter().any(|place| place.turns_over_prob > 0.0) {
        chances(page, &outlook.places);
    }
    outcomes(page, &outlook.places);
    surface(page, outlook, reader);
    if let Some(drivers) = &outlook.drivers {
        page.heading("WHAT DRIVES IT", "");
        drivers_said(drivers, reader)
            .iter()
            .for_each(|said| page.item(said));
    }
    let fish = words::fish(outlook, until);
    if !fish.is_empty() {
        page.heading("WHAT IT MEANS FOR THE FISH", "");
        fish.iter().for_each(|(name, said)| page.row(name, 10, said));
    }
    page.heading("SIGNS TO LOOK FOR", "common practice, no source");
    words::SIGNS.iter().for_each(|sign| page.item(sign));
    if let Some(basis) = &outlook.basis {
        page.heading("WHAT THIS RESTS ON", "");
        words::basis(basis, reader)
            .iter()
            .for_each(|said| page.item(said));
        page.item(
            "Each run's day is spread by 3 days (standard deviation) for what columns and weather of one place miss. Whether the runs are early \
             or late on this lake no past autumn has told: on other lakes they were by up to ten days (docs/accuracy.md).",
        );
        for gap in &outlook.gaps {
            page.item(&words::gap(gap));
        }
    }
}

/// The cumulative curve.
fn chances(page: &mut Page, places: &[PlaceOutlook]) {
    let open: Vec<&PlaceOutlook> = places.iter().filter(|place| !place.closed).collect();
    // On the last day of the season there is no course to draw.
    let Some(first) = open.first().filter(|place| place.by_date.len() > 1) else {
        return;
    };
    page.heading("CHANCE THAT IT HAS TURNED OVER", "by the end of the day");
    let lines: Vec<CurveLine> = open
        .iter()
        .map(|place| CurveLine {
            name: place.name.clone(),
            turned_over_prob: place.by_date.iter().map(|c| c.turned_over_prob).collect(),
            median: place.median.and_then(|day| place_of(&place.by_date, day)),
        })
        .collect();
    let (from, to) = stretch(&lines);
    let step = STEPS_DAYS
        .into_iter()
        .find(|step| (to - from).div_ceil(*step) < ROWS)
        .unwrap_or((to - from).div_ceil(ROWS - 1).max(1));
    let mut days: Vec<usize> = (from..to).step_by(step).collect();
    days.push(to);
    let label = |day: usize| words::short_day(first.by_date[day].date);
    let rows = days
        .iter()
        .map(|day| {
            let cells = open
                .iter()
                .map(|place| words::table_chance(place.by_date[*day].turned_over_prob));
            (label(*day), cells.collect())
        })
        .collect();
    page.blocks.push(Block::Curve(Curve {
        bar_prob: days.iter().map(|day| lines[0].turned_over_prob[*day]).collect(),
        rows,
        ticks: ticks(&first.by_date[from..=to]),
        lines: lines
            .into_iter()
            .map(|line| CurveLine {
                turned_over_prob: line.turned_over_prob[from..=to].to_vec(),
                median: line.median.and_then(|day| day.checked_sub(from)),
                name: line.name,
            })
            .collect(),
    }));
}

fn place_of(curve: &[DateChance], day: NaiveDate) -> Option<usize> {
    curve.iter().position(|chance| chance.date == day)
}

/// First and last day of the curve: from before anything moves to where all is as good as certain, or moves no more.
fn stretch(lines: &[CurveLine]) -> (usize, usize) {
    let days = lines
        .iter()
        .map(|line| line.turned_over_prob.len())
        .min()
        .unwrap_or(1);
    let last = days.saturating_sub(1);
    let moves = |line: &CurveLine, day: usize| line.turned_over_prob[day] != line.turned_over_prob[0];
    let first_move = (0..days).find(|day| lines.iter().any(|line| moves(line, *day)));
    let done = |line: &CurveLine, day: usize| {
        let prob = line.turned_over_prob[day];
        prob >= END_PROB || prob == line.turned_over_prob[last]
    };
    let end = (0..days).find(|day| lines.iter().all(|line| done(line, *day)));
    let from = first_move.unwrap_or(0).saturating_sub(1);
    (from, end.unwrap_or(last).max(from + 1).min(last.max(1)))
}

/// Days that the axis of a picture names: the first of each month and, of a short curve, the middle.
fn ticks(days: &[DateChance]) -> Vec<(usize, String)> {
    let short = days.len() < 75;
    let named = |date: NaiveDate| {
        date.day() == 1 || (short && (date.day() == 15 || (days.len() < 35 && matches!(date.day(), 8 | 22))))
    };
    let at = days.iter().enumerate().filter(|(_, chance)| named(chance.date));
    at.map(|(at, chance)| (at, words::short_day(chance.date)))
        .collect()
}

/// Outcomes beside a date, in a table where there is more than one.
fn outcomes(page: &mut Page, places: &[PlaceOutlook]) {
    page.heading("HOW IT MAY END", "");
    let heads: Vec<String> = [
        "mixed, stays so",
        "turns over",
        "does not",
        "dries up",
        "like none",
    ]
    .map(str::to_owned)
    .to_vec();
    let rows = places
        .iter()
        .filter(|place| !place.closed)
        .map(|place| {
            let probs = [
                place.already_mixed_prob,
                place.turns_over_prob,
                place.not_turned_over_prob,
                place.closed_prob,
                place.no_run_prob,
            ];
            (place.name.clone(), probs.map(words::table_chance).to_vec())
        })
        .collect();
    page.blocks.push(Block::Table { heads, rows });
}

fn surface(page: &mut Page, outlook: &TurnoverOutlook, reader: &Reader) {
    let Some(main) = outlook.places.first() else {
        return;
    };
    let range = |range: &TempRange| {
        format!(
            "{} ({} to {})",
            reader.temp(range.median_degc),
            reader.temp_number(range.low_degc),
            reader.temp(range.high_degc)
        )
    };
    let mut said = Vec::new();
    if let Some(now) = &main.surface_now {
        said.push(format!("{}: the surface is at {} now.", main.name, range(now)));
    }
    for place in outlook.places.iter().filter(|place| !place.closed) {
        if let Some(then) = &place.surface_then {
            said.push(format!(
                "{}: when it turns over your surface reading should be about {}.",
                place.name,
                range(then)
            ));
        }
    }
    let under_way = outlook
        .places
        .iter()
        .filter(|place| place.already_mixed_prob < 0.5 && place.under_way_prob >= 0.1);
    said.extend(under_way.map(|place| {
        format!(
            "{}: a turnover is under way (mixed past half of the depth) with a chance of {}.",
            place.name,
            chance(place.under_way_prob)
        )
    }));
    if !said.is_empty() {
        page.heading("ON THE SONAR", "a foot or two down; 8 in 10 cases in brackets");
        said.iter().for_each(|said| page.item(said));
    }
}
