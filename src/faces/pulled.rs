//! What a pull did, for someone who is about to drive to the ramp: first whether all is fresh, then what is not and
//! why, then every series.

use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};

use super::reader::{Reader, age, thousands};
use super::words;
use crate::reports::{PulledLake, PulledSeries, PulledWater};

const WIDTH: u16 = 80;

/// One lake's pull as text, at most 80 columns.
pub fn render_pulled(lake: &PulledLake, reader: &Reader) -> String {
    let mut text = String::new();
    if let Some(error) = &lake.error {
        line(&mut text, &format!("{}: NOT PULLED: {error}", lake.name), "  ");
        return text;
    }
    line(&mut text, &format!("{}: {}", lake.name, verdict(lake)), "  ");
    for failure in &lake.failures {
        let mut what = failure.series.clone();
        if failure.official_alerts {
            what.push("official alerts".to_owned());
        }
        let service = words::service(&failure.service);
        let said = format!("FAILED: {service}: {}: {}", failure.message, what.join(", "));
        line(&mut text, &said, "    ");
    }
    for late in lake.series.iter().filter(|s| s.late) {
        let said = match (late.newest, late.age_h, late.late_after_h) {
            (Some(newest), Some(age_h), Some(after_h)) => format!(
                "{}, {} old ({} is usual)",
                reader.day_hour(newest),
                age(age_h),
                age(after_h)
            ),
            _ => "no value at all".to_owned(),
        };
        line(
            &mut text,
            &format!("LATE: {} {}: {said}", late.series, late.cadence),
            "    ",
        );
    }
    if let Some(water) = &lake.water {
        line(&mut text, &water_line(water, reader), "    ");
    }
    text.push('\n');
    text.push_str(&table(lake, reader));
    text
}

/// How far the water was run.
fn water_line(water: &PulledWater, reader: &Reader) -> String {
    match water {
        PulledWater::NotRun { why } => {
            format!("Water: NOT RUN, the brief falls back on the quick model: {why}")
        }
        PulledWater::Run {
            to,
            from_day,
            cold_start,
            hours,
            readings,
            saved,
            told,
        } => {
            let from = match from_day {
                Some(day) => format!("the state of {}", reader.day(*day)),
                None => format!("a cold start on {}", reader.day_of(*cold_start)),
            };
            let taken = match readings {
                0 => "no reading of the water to correct it".to_owned(),
                1 => "1 reading of the water taken up".to_owned(),
                n => format!("{n} readings of the water taken up"),
            };
            let mut said = format!(
                "Water: run to {} from {from}, {} hours; {taken}; {saved} states saved",
                reader.day_hour(*to),
                thousands(*hours as f64)
            );
            for why in told {
                said.push_str("; ");
                said.push_str(why);
            }
            said
        }
    }
}

fn verdict(lake: &PulledLake) -> String {
    let count = |is: fn(&&PulledSeries) -> bool| lake.series.iter().filter(is).count();
    let (late, failed) = (count(|s| s.late), count(|s| s.failed));
    let added: usize = lake.series.iter().map(|s| s.added).sum();
    let revised: usize = lake.series.iter().map(|s| s.revised).sum();
    if lake.series.is_empty() {
        return "nothing was asked for".to_owned();
    }
    let state = match (late, failed) {
        (0, 0) => format!("all {} series are fresh", lake.series.len()),
        _ => format!("of {} series {failed} FAILED, {late} LATE", lake.series.len()),
    };
    format!(
        "{state}; {} new values, {} revised, {} requests",
        thousands(added as f64),
        thousands(revised as f64),
        thousands(lake.requests as f64)
    )
}

fn table(lake: &PulledLake, reader: &Reader) -> String {
    let mut table = Table::new();
    table
        .load_preset(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH)
        .set_header(["series", "cadence", "service", "new", "rev.", "newest", "age", ""]);
    for series in &lake.series {
        let state = match (series.failed, series.late) {
            (true, true) => "FAILED",
            (true, false) => "FAILED",
            (false, true) => "LATE",
            (false, false) => "",
        };
        // An ended series is as old as it is meant to be.
        let ended = series.late_after_h.is_none();
        let old = match series.age_h {
            Some(_) if ended => "ended".to_owned(),
            Some(age_h) => age(age_h),
            None => "-".to_owned(),
        };
        table.add_row(
            [
                series.series.clone(),
                if series.cadence == "continuous" {
                    "in-day".to_owned()
                } else {
                    series.cadence.clone()
                },
                series.service.clone(),
                thousands(series.added as f64),
                thousands(series.revised as f64),
                series
                    .newest
                    .map_or_else(|| "none".to_owned(), |t| when(reader, series, t)),
                old,
                state.to_owned(),
            ]
            .map(Cell::new),
        );
    }
    for column in [3, 4, 6] {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for (k, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, if k == 7 { 0 } else { 1 }));
    }
    let mut text: String = table.lines().map(|l| l.trim_end().to_owned() + "\n").collect();
    text.push('\n');
    text
}

/// Day and hour at the lake; of a daily value its day, of an ended series with the year.
fn when(reader: &Reader, series: &PulledSeries, instant: chrono::DateTime<chrono::Utc>) -> String {
    let form = match (series.late_after_h, series.cadence.as_str()) {
        (None, _) => "%Y-%m-%d",
        (Some(_), "daily") => "%-d %b",
        _ => "%-d %b %H:%M",
    };
    instant.with_timezone(&reader.zone).format(form).to_string()
}

/// Adds a line, folded to the width.
fn line(text: &mut String, said: &str, indent: &str) {
    let options = textwrap::Options::new(usize::from(WIDTH)).subsequent_indent(indent);
    for folded in textwrap::wrap(said, options) {
        text.push_str(&folded);
        text.push('\n');
    }
}
