//! Items and locations as the lake file has them: by number.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// What an item may stand for: any quantity of a reservoir; the unit that the service states for it decides.
const QUANTITIES: &[Quantity] = &[
    Quantity::PoolElevation,
    Quantity::Storage,
    Quantity::Inflow,
    Quantity::Release,
    Quantity::Evaporation,
    Quantity::WaterTemp,
    Quantity::RiverTemp,
    Quantity::AirTemp,
    Quantity::Precipitation,
];

/// Whether a text is the number of an item or location.
pub(super) fn is_number(text: &str) -> bool {
    (1..=9).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit())
}

/// Quantities of an item; none of what is no number.
pub(super) fn quantities(item: &str) -> &'static [Quantity] {
    if is_number(item.trim()) { QUANTITIES } else { &[] }
}

/// What a location looks like, for a text that cannot be one.
pub(super) fn refuses_location(station: &str) -> Option<&'static str> {
    (!is_number(station)).then_some("the number of the location, such as 1533")
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Forecast {
        return Some(("cadence forecast".to_owned(), "daily or continuous".to_owned()));
    }
    (!quantities(&series.parameter).contains(&series.quantity)).then(|| {
        (
            format!(
                "parameter \"{}\" for {}",
                series.parameter,
                series.quantity.word()
            ),
            "the number of an item, for a quantity of a reservoir".to_owned(),
        )
    })
}

/// The quantity that a parameter's name tells of by itself, for saved replies.
pub(super) fn quantity_of(name: &str) -> Option<Quantity> {
    let name = name.to_ascii_lowercase();
    let has = |word: &str| name.contains(word);
    match () {
        () if has("elevation") && (has("lake") || has("reservoir")) => Some(Quantity::PoolElevation),
        () if has("storage") => Some(Quantity::Storage),
        () if has("inflow") => Some(Quantity::Inflow),
        () if has("release") => Some(Quantity::Release),
        () if has("evaporation") => Some(Quantity::Evaporation),
        () if has("water temperature") => Some(Quantity::WaterTemp),
        () => None,
    }
}
