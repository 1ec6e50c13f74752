//! Which of several series was used, and how they were brought to one scale.

use crate::conditions::seam::{Seam, SeamBasis, SeamOutcome, SeamPart};
use crate::conditions::{JoinedSource, SourceChoice, SourcePurpose};
use crate::faces::reader::Reader;
use crate::faces::{gaps, words};
use crate::lake::SeriesPlace;
use crate::quantity::Quantity;
use crate::reports::Brief;

use super::block::Page;

/// Writes a line for each choice that says something, and one for each seam.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    let choices = brief.source_choices.iter();
    let lines = choices
        .filter_map(|choice| choice_said(brief, reader, choice))
        .chain(brief.air_seams.iter().map(|seam| seam_said(reader, seam)));
    for line in lines {
        page.hanging(&line, 2, 6);
    }
}

/// A choice in words; `None` where the first in the order was used and nothing joined to it.
fn choice_said(brief: &Brief, reader: &Reader, choice: &SourceChoice) -> Option<String> {
    if choice.passed_over.is_empty() && choice.joined.is_empty() {
        return None;
    }
    let mut what = words::quantity(choice.quantity);
    match &choice.place {
        SeriesPlace::Lake => {}
        SeriesPlace::Zone(zone) => what.push_str(&format!(", {}", gaps::zone_name(brief, zone.as_str()))),
        SeriesPlace::Inflow(inflow) => {
            what.push_str(&format!(", {}", words::inflow(brief, inflow.as_str())));
        }
    }
    if choice.purpose == SourcePurpose::Forecast {
        what.push_str(" forecast");
    }
    let used = match &choice.used {
        Some(used) => format!("series {used} used"),
        None => "no series can be used".to_owned(),
    };
    let mut parts = vec![format!("{what}: {used}")];
    parts.extend(choice.passed_over.iter().map(|passed| {
        let reason = gaps::reason_said(brief, reader, passed.series.as_str(), &passed.reason);
        format!("not {} ({reason})", passed.series)
    }));
    let joined = choice.joined.iter();
    parts.extend(joined.map(|joined| joined_said(reader, choice.quantity, joined)));
    Some(words::capitalised(&parts.join("; ")))
}

fn joined_said(reader: &Reader, quantity: Quantity, joined: &JoinedSource) -> String {
    let (reads_high, spread) = match quantity {
        Quantity::PoolElevation => (
            reader.change(joined.bias.reads_high),
            reader.level_spread(joined.bias.spread),
        ),
        _ => (
            reader.temp_change(joined.bias.reads_high),
            reader.temp_spread(joined.bias.spread),
        ),
    };
    format!(
        "{} days of {} joined, which reads {reads_high} against it (n = {}, spread {spread}); corrected",
        joined.days_taken, joined.series, joined.bias.days
    )
}

fn seam_said(reader: &Reader, seam: &Seam) -> String {
    let what = match seam.part {
        SeamPart::Forecast => format!("forecast air ({})", seam.series),
        SeamPart::Past => format!("air of series {}", seam.series),
    };
    let against = if seam.series == seam.against {
        "its own past".to_owned()
    } else if seam.against_station.is_empty() {
        format!("series {}", seam.against)
    } else {
        format!("station {}", seam.against_station)
    };
    let outcome = match seam.outcome {
        SeamOutcome::Corrected => "corrected",
        SeamOutcome::AsIssued => "used as issued",
        SeamOutcome::NotUsed => "not used",
    };
    let text = match (seam.reads_high_degc, seam.spread_degc) {
        (Some(reads_high_degc), Some(spread_degc)) => {
            let amount = reader.temp_spread(reads_high_degc.abs());
            let sign = if reads_high_degc < 0.0 { "cold" } else { "warm" };
            let basis = match seam.basis {
                Some(SeamBasis::IssuedForecasts) => ", by forecasts up to 24 h ahead",
                Some(SeamBasis::PassedHours) => ", by its own hours that have passed",
                Some(SeamBasis::SamePast) => ", by the past of the same series",
                Some(SeamBasis::DailyValues) | None => "",
            };
            format!(
                "{what} reads {amount} {sign} against {against} over {} days (n = {}, spread {}{basis})",
                seam.of_days,
                seam.days,
                reader.temp_spread(spread_degc)
            )
        }
        _ => format!(
            "{what}: how it reads against {against} is not known ({} of the {} days that are needed, of {})",
            seam.days, seam.days_wanted, seam.of_days
        ),
    };
    words::capitalised(&format!("{text}; {outcome}"))
}
