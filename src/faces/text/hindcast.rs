//! The report of a hindcast as text, 80 columns.

use std::fmt::Write;

use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};

use crate::hindcast::HindcastReport;
use crate::hindcast::figures::Figure;
use crate::hindcast::pairs::Compared;
use crate::hindcast::report::{FigureRow, HindcastNote, HindcastPart, Reference, ReferenceRow};
use crate::hindcast::turnover::TurnoverYear;

const WIDTH: u16 = 80;

/// The report as text, at most 80 columns, in degC, mg/L, metres and days.
pub fn render_hindcast(report: &HindcastReport) -> String {
    let mut text = String::new();
    let span = match report.modelled {
        Some((first, last)) => format!("{first} to {last}"),
        None => "nothing was modelled".to_owned(),
    };
    let fitted = if report.fitted { "fitted" } else { "not fitted" };
    let _ = writeln!(
        text,
        "{}: modelled against observed, {span}, {fitted}\n",
        report.lake
    );
    if report.parts.iter().all(|part| part.pairs.pairs == 0) {
        said(
            &mut text,
            "Nothing was compared: no observed day lies within the days that were modelled. Mind that a run without a winter \
             before it begins with the first profile.",
        );
        text.push('\n');
    }
    for part in &report.parts {
        part_text(&mut text, part, report.surface_depth_m);
    }
    thermocline(&mut text, report);
    turnover(&mut text, report);
    said(
        &mut text,
        "All points have the same weight: days with many depths, and years with many days, count more. Error is \
         modelled less observed. Climatology is the mean of the other years within a week of the date at the depth; \
         each reference stands beside the model on the same points.",
    );
    for note in &report.notes {
        said(&mut text, note_words(*note));
    }
    text
}

/// Words of a figure.
pub fn figure_words(figure: Figure) -> &'static str {
    match figure {
        Figure::Surface => "surface",
        Figure::UpperFive => "upper 5 m",
        Figure::WholeProfile => "whole profile",
        Figure::BelowThermocline => "below thermocline",
        Figure::UnderIce => "under ice",
    }
}

fn reference_words(reference: Reference) -> String {
    match reference {
        Reference::Climatology => "climatology".to_owned(),
        Reference::Persistence { days: 1 } => "1 day before or more".to_owned(),
        Reference::Persistence { days } => format!("{days} days before or more"),
        Reference::QuickSurface => "from air temperature".to_owned(),
    }
}

fn note_words(note: HindcastNote) -> &'static str {
    match note {
        HindcastNote::FittedInSample => "The model was fitted to these very observations.",
        HindcastNote::NoQuickSurface => {
            "Without daily air temperature the surface by the quick model is not among the references."
        }
        HindcastNote::QuickFittedInSample => {
            "The surface from air temperature was fitted to these very observations, the last six years of them."
        }
        HindcastNote::OxygenNotModelled => "Oxygen was observed but not modelled.",
    }
}

pub(super) fn said(text: &mut String, words: &str) {
    let options = textwrap::Options::new(usize::from(WIDTH)).subsequent_indent("  ");
    for folded in textwrap::wrap(words, options) {
        text.push_str(&folded);
        text.push('\n');
    }
}

fn table(heads: &[&str]) -> Table {
    let mut table = Table::new();
    table
        .load_preset(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH)
        .set_header(heads);
    table
}

fn put(text: &mut String, mut table: Table) {
    for (k, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        if k > 0 {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text.push('\n');
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"))
}

fn part_text(text: &mut String, part: &HindcastPart, surface_depth_m: f64) {
    let unit = match part.compared {
        Compared::Temperature => "Water temperature, °C",
        Compared::Oxygen => "Dissolved oxygen, mg/L",
    };
    let (c, o) = (&part.pairs, &part.observed);
    said(
        text,
        &format!(
            "{unit}: {} points on {} days; {} compared. Surface is the shallowest observation down to {surface_depth_m} m.",
            o.points, o.days, c.pairs
        ),
    );
    let left_out = [
        (o.not_finite, "not a number"),
        (o.above_surface, "above the surface"),
        (o.below_zero, "below 0"),
        (c.day_not_modelled, "on days that were not modelled"),
        (c.below_bed, "below the modelled bed"),
        (c.no_value, "without a modelled value"),
    ];
    let counts: Vec<String> = left_out
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, why)| format!("{n} {why}"))
        .collect();
    if !counts.is_empty() {
        said(text, &format!("Left out: {}.", counts.join(", ")));
    }
    if o.merged > 0 {
        said(
            text,
            &format!(
                "{} went into the mean of one depth and day with another.",
                o.merged
            ),
        );
    }
    text.push('\n');
    let mut model = table(&[
        "", "n", "RMSE", "10-90 %", "bias", "mean |e|", "half in", "90 % in", "max",
    ]);
    let mut references = table(&["", "reference", "n", "RMSE", "model", "ratio", "left out"]);
    for row in part.figures.iter().filter(|r| r.model.is_some()) {
        model.add_row(model_cells(row));
        for reference in &row.references {
            references.add_row(reference_cells(row.figure, reference));
        }
    }
    put(text, model);
    put(text, references);
}

fn model_cells(row: &FigureRow) -> Vec<Cell> {
    let figures = row.model.as_ref();
    let of = |take: fn(&crate::hindcast::statistics::ErrorFigures) -> f64| number(figures.map(take));
    let interval = row
        .interval
        .map_or_else(|| "-".to_owned(), |i| format!("{:.2}-{:.2}", i.low, i.high));
    [
        figure_words(row.figure).to_owned(),
        figures.map_or(0, |f| f.n).to_string(),
        of(|f| f.rmse),
        interval,
        number(figures.map(|f| f.bias)),
        of(|f| f.mean_absolute),
        of(|f| f.absolute_50),
        of(|f| f.absolute_90),
        of(|f| f.absolute_max),
    ]
    .map(Cell::new)
    .to_vec()
}

fn reference_cells(figure: Figure, row: &ReferenceRow) -> Vec<Cell> {
    let rmse = row.figures.as_ref().map(|f| f.rmse);
    let ratio = row
        .model_rmse
        .zip(rmse)
        .map(|(m, r)| m / r)
        .filter(|r| r.is_finite());
    [
        figure_words(figure).to_owned(),
        reference_words(row.reference),
        row.figures.as_ref().map_or(0, |f| f.n).to_string(),
        number(rmse),
        number(row.model_rmse),
        number(ratio),
        row.left_out.to_string(),
    ]
    .map(Cell::new)
    .to_vec()
}

fn thermocline(text: &mut String, report: &HindcastReport) {
    let t = &report.thermocline;
    let words = match &t.depth_error {
        Some(e) => format!(
            "Thermocline: {} days, RMSE {:.1} m, bias {:+.1} m, mean |e| {:.1} m",
            e.n, e.rmse, e.bias, e.mean_absolute
        ),
        None => "Thermocline: no day on which both have one".to_owned(),
    };
    said(
        text,
        &format!(
            "{words}; of {} days {} have none observed, {} none modelled.",
            t.days, t.without_observed, t.without_modelled
        ),
    );
    text.push('\n');
}

fn turnover(text: &mut String, report: &HindcastReport) {
    let t = &report.turnover;
    match (t.mean_absolute_days, t.bias_days) {
        (Some(mae), Some(bias)) => said(
            text,
            &format!(
                "Autumn turnover: {} of {} years scored (profiles no more than 10 days apart), mean |e| {mae:.1} days, \
                 bias {bias:+.1} days.",
                t.scored,
                t.years.len()
            ),
        ),
        _ => said(
            text,
            "Autumn turnover: no year has profiles near enough to date it.",
        ),
    }
    let told = |y: &&TurnoverYear| y.error_days.is_some();
    if t.years.iter().any(|y| told(&y)) {
        let mut years = table(&["year", "observed between", "modelled", "error, days"]);
        for year in t.years.iter().filter(told) {
            let day = |d: Option<chrono::NaiveDate>| {
                d.map_or_else(|| "-".to_owned(), |d| d.format("%-d %b").to_string())
            };
            let observed = year.observed.map(|o| (o.last_stratified, o.first_mixed)).unzip();
            years.add_row([
                year.year.to_string(),
                format!("{} and {}", day(observed.0), day(observed.1)),
                day(year.modelled),
                year.error_days
                    .map_or_else(|| "-".to_owned(), |e| format!("{e:+.1}")),
            ]);
        }
        text.push('\n');
        put(text, years);
    } else {
        text.push('\n');
    }
}
