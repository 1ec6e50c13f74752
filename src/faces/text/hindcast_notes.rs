//! What the input of a hindcast and its model had to take as it is, and what a fit found, as text.

use std::fmt::Write;

use super::hindcast::said;
use crate::column::forcing::{FlowNote, WeatherNote};
use crate::hindcast::fit::Fitted;
use crate::hindcast::{InputNote, ModelNote};

/// Spread of a factor that the lake file fixes, in the block that is printed for it: as good as known (project choice).
const FIXED_LOG_SD: f64 = 0.01;

/// A table of the factors that were fitted.
pub fn render_fit(fitted: &Fitted) -> String {
    let mut text = String::from("\nfactors on the published defaults, fitted to all years\n");
    for (name, factor, before, after) in &fitted.table {
        let learned = 100.0 * (1.0 - after / before);
        let _ = writeln!(
            text,
            "  {name:<16} {factor:>6.3}   spread of its logarithm {after:.3}, {learned:.0} % less than before"
        );
    }
    if !fitted.table.is_empty() {
        said(
            &mut text,
            "The blocks below, put at the end of the lake file, carry these factors and their spread to \
             the ensemble of the brief, and to hindcasts without a fit.",
        );
        text.push('\n');
        // The others were fitted beside these: without them they would stand for another lake.
        for (name, value) in &fitted.fixed {
            let _ = writeln!(
                text,
                "[[model_factors]]\nname = \"{name}\"\nmedian_frac = {value:.4}\nlog_sd = {FIXED_LOG_SD}   # fixed in [hindcast]\n"
            );
        }
        for (name, factor, _, after) in &fitted.table {
            let _ = writeln!(
                text,
                "[[model_factors]]\nname = \"{name}\"\nmedian_frac = {factor:.4}\nlog_sd = {after:.4}\n"
            );
        }
    }
    if !fitted.blocks.is_empty() {
        let years: Vec<String> = fitted
            .blocks
            .iter()
            .map(|block| match (block.years.first(), block.years.last()) {
                (Some(first), Some(last)) if first != last => format!("{first}-{last}"),
                (Some(first), _) => first.to_string(),
                _ => String::new(),
            })
            .collect();
        said(
            &mut text,
            &format!(
                "The figures above are of held-out years: {} were each modelled with what the other years taught.",
                years.join(", ")
            ),
        );
    }
    text
}

/// What was taken as it is: notes of the input and of the model, each once.
pub fn render_input_notes(input: &[InputNote], model: &[ModelNote]) -> String {
    let mut text = String::new();
    if input.is_empty() && model.is_empty() {
        return text;
    }
    text.push_str("\nnotes\n");
    for words in input.iter().map(input_words).chain(model.iter().map(model_words)) {
        said(&mut text, &format!("- {words}"));
    }
    text
}

fn model_words(note: &ModelNote) -> String {
    match note {
        ModelNote::MeanFlows { flow_m3s } => format!(
            "no flows are known day by day: rivers bring, and outlets let out, their long-term mean of {flow_m3s:.2} m3/s"
        ),
        ModelNote::ClarityUnknown { extinction_per_m } => format!(
            "the lake file says nothing of clarity: light extinction of {extinction_per_m} 1/m was taken (project choice)"
        ),
        ModelNote::StartsFromProfile => {
            "no winter lies before the first profile: the run begins with it, and it is not compared".to_owned()
        }
        ModelNote::Undrawn { volume_m3 } => format!(
            "{volume_m3:.0} m3 of the releases could not be drawn: the modelled surface had fallen below the outlet; check flows, outlet and level"
        ),
        ModelNote::Freeboard => {
            "above the table of the hypsography the shores are taken to go on with the slope below".to_owned()
        }
        ModelNote::NothingHeldOut => {
            "profiles are of one year: nothing could be held out, so the fitted figures say how well the model can be bent to that year"
                .to_owned()
        }
        ModelNote::StatedFactors => {
            "run by the [[model_factors]] of the lake file: where they were fitted to these profiles, the figures are of the sample itself"
                .to_owned()
        }
    }
}

fn input_words(note: &InputNote) -> String {
    match note {
        InputNote::Weather(note) => weather_words(note),
        InputNote::Flow(FlowNote::Filled { what, gaps, length_h }) => {
            format!("{what}: {gaps} gaps of {length_h:.0} h in all were bridged")
        }
        InputNote::Flow(FlowNote::BelowZero { what, rows, least }) => {
            format!("{what}: {rows} rows below 0 (down to {least:.2}) count as 0")
        }
        InputNote::RowsLeftOut { file, count, first } => format!(
            "{}: {count} rows that cannot be read were left out; the first: {first}",
            file.display()
        ),
        InputNote::Merged { file, places } => format!(
            "{}: {places} times and depths stand more than once and agree",
            file.display()
        ),
        InputNote::Contradicting { file, places, spread } => format!(
            "{}: {places} times and depths stand more than once and differ, by up to {spread:.2}: left out",
            file.display()
        ),
        InputNote::BeyondLimits { file, count } => format!(
            "{}: {count} observations beyond the limits of the lake file were left out",
            file.display()
        ),
        InputNote::Drawn { file, count } => format!(
            "{}: {count} rows were drawn straight over gaps by their source: their sunlight is that of the days around them, their rain none",
            file.display()
        ),
        InputNote::WithoutValue { file, count } => {
            format!("{}: {count} rows without a value", file.display())
        }
        InputNote::LevelHeld { elevation_m } => {
            format!("the level is held at {elevation_m:.2} m; what flows in leaves at the surface")
        }
        InputNote::StartsFull => "the level at the start is the full pool, for want of another".to_owned(),
        InputNote::RiverWithoutTable(id) => {
            format!("inflow {}: no table knows it, and it brings nothing", id.as_str())
        }
        InputNote::OutletWithoutTable(id) => {
            format!("outlet {id}: no table knows it, and it lets nothing out")
        }
    }
}

fn weather_words(note: &WeatherNote) -> String {
    match note {
        WeatherNote::Filled { what, gaps, length_h } => {
            format!(
                "{}: {gaps} gaps of {length_h:.0} h in all were bridged",
                what.word()
            )
        }
        WeatherNote::BelowZero { what, rows, least } => {
            format!(
                "{}: {rows} rows below 0 (down to {least:.3}) count as 0",
                what.word()
            )
        }
        WeatherNote::VapourFrom(what) => format!("vapour pressure from {}", what.word()),
        WeatherNote::StandardPressure { pressure_pa } => format!(
            "air pressure is that of the standard atmosphere at the lake, {:.0} hPa",
            pressure_pa / 100.0
        ),
        WeatherNote::WindFromVector => {
            "wind speed is that of the mean vector, which is less than the mean of speeds".to_owned()
        }
        WeatherNote::SunlightFromCloud => "sunlight was worked out from cloud".to_owned(),
        WeatherNote::LongwaveFromCloud => {
            "longwave radiation was worked out from air, humidity and cloud".to_owned()
        }
        WeatherNote::LongwaveFromSunlight { steps_between } => format!(
            "longwave radiation was worked out from air, humidity and sunlight; {steps_between} hours without sun lie between"
        ),
        WeatherNote::NoPrecipitation => {
            "no rain was given: it counts as none, and ice bears the usual snow".to_owned()
        }
        WeatherNote::Unused(what) => format!("{}: of no use here", what.word()),
    }
}
