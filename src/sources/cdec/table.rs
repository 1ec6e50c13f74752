//! The sensor numbers that mean something here, and the steps in time that the service has.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// The service's `dur_code`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// `E`: as it was sent, often every quarter of an hour.
    Event,
    /// `H`: hourly.
    Hourly,
    /// `D`: daily.
    Daily,
}

impl Step {
    /// The service's letter.
    pub fn letter(self) -> &'static str {
        match self {
            Step::Event => "E",
            Step::Hourly => "H",
            Step::Daily => "D",
        }
    }

    /// The step of a letter; `None` for any other, monthly values among them, which are of no use here.
    pub fn of_letter(letter: &str) -> Option<Step> {
        [Step::Event, Step::Hourly, Step::Daily]
            .into_iter()
            .find(|step| step.letter() == letter)
    }
}

/// One sensor number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensor {
    /// Number.
    pub number: u32,
    /// What it is, for people.
    pub what: &'static str,
    /// Quantities it can be; none where none is meant by it.
    pub quantities: &'static [Quantity],
    /// Unit it usually comes in; what a reply states counts.
    pub usual_unit: &'static str,
    /// Whether number and meaning are from memory, unverified; the others stand in notes of users or recorded replies.
    pub is_from_memory: bool,
}

const fn row(
    number: u32,
    what: &'static str,
    quantities: &'static [Quantity],
    usual_unit: &'static str,
) -> Sensor {
    Sensor {
        number,
        what,
        quantities,
        usual_unit,
        is_from_memory: false,
    }
}

const fn from_memory(sensor: Sensor) -> Sensor {
    Sensor {
        is_from_memory: true,
        ..sensor
    }
}

/// The outflow of a reservoir upstream is the inflow of the next one, hence both for 23.
pub const SENSORS: &[Sensor] = &[
    row(1, "river stage", &[], "FEET"),
    row(6, "reservoir elevation", &[Quantity::PoolElevation], "FEET"),
    row(15, "reservoir storage", &[Quantity::Storage], "AF"),
    row(
        20,
        "river discharge",
        &[Quantity::Inflow, Quantity::Release],
        "CFS",
    ),
    row(
        23,
        "reservoir outflow",
        &[Quantity::Release, Quantity::Inflow],
        "CFS",
    ),
    row(
        25,
        "water temperature",
        &[Quantity::WaterTemp, Quantity::RiverTemp],
        "DEG F",
    ),
    row(
        41,
        "mean daily flow",
        &[Quantity::Inflow, Quantity::Release],
        "CFS",
    ),
    row(76, "reservoir inflow", &[Quantity::Inflow], "CFS"),
    // What would flow without the works upstream: no lake's inflow.
    from_memory(row(8, "full natural flow", &[], "CFS")),
    from_memory(row(22, "reservoir storage change", &[], "AF")),
    from_memory(row(27, "turbidity", &[Quantity::Turbidity], "NTU")),
    from_memory(row(74, "evaporation", &[Quantity::Evaporation], "CFS")),
    from_memory(row(
        146,
        "water temperature",
        &[Quantity::WaterTemp, Quantity::RiverTemp],
        "DEG C",
    )),
];

/// The table's row of a number.
pub fn sensor(number: u32) -> Option<&'static Sensor> {
    SENSORS.iter().find(|s| s.number == number)
}

/// Sensor number, and the step chosen for values within the day: `25` or `25/E`.
pub(super) fn number_and_choice(parameter: &str) -> Option<(u32, Option<Step>)> {
    let (number, choice) = match parameter.split_once('/') {
        Some((number, letter)) => (number, Some(Step::of_letter(letter.trim())?)),
        None => (parameter, None),
    };
    let number = number.trim();
    let is_number = (1..=3).contains(&number.len()) && number.bytes().all(|b| b.is_ascii_digit());
    let number: u32 = number.parse().ok().filter(|n| is_number && *n > 0)?;
    Some((number, choice))
}

/// The step that is asked for at a cadence: within the day the chosen one, hourly without a choice.
/// `None` where the service has none.
pub(super) fn step_of(choice: Option<Step>, cadence: Cadence) -> Option<Step> {
    match (cadence, choice) {
        (Cadence::Daily, _) => Some(Step::Daily),
        (Cadence::Continuous, None) => Some(Step::Hourly),
        (Cadence::Continuous, Some(Step::Daily)) | (Cadence::Forecast, _) => None,
        (Cadence::Continuous, Some(within)) => Some(within),
    }
}

/// Quantities that a parameter may stand for: those of the table, any for another number, none for what is no
/// number.
pub(super) fn quantities(parameter: &str) -> &'static [Quantity] {
    match number_and_choice(parameter) {
        Some((number, _)) => sensor(number).map_or(&Quantity::ALL, |known| known.quantities),
        None => &[],
    }
}

/// What the service has instead of a parameter at a cadence; `None` where it has it.
pub(super) fn refuses_parameter(parameter: &str, cadence: Cadence) -> Option<String> {
    match number_and_choice(parameter) {
        Some((number, Some(Step::Daily))) if cadence == Cadence::Continuous => {
            Some(format!("{number}/H, {number}/E"))
        }
        _ => None,
    }
}

/// Form of a station, where a text cannot be one.
pub(super) fn refuses_station(station: &str) -> Option<&'static str> {
    let sound = station.len() == 3
        && station
            .bytes()
            .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
    (!sound).then_some("three capital letters or digits such as \"SHA\"")
}

/// What of a series the service does not have. A number outside the table passes: its unit, which every reply
/// states, then decides whether it can be the quantity.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Forecast {
        return Some(("cadence forecast".to_owned(), "daily or continuous".to_owned()));
    }
    let of_quantity = || {
        let fitting = SENSORS.iter().filter(|s| s.quantities.contains(&series.quantity));
        let numbers: Vec<String> = fitting.map(|s| s.number.to_string()).collect();
        let word = series.quantity.word();
        if numbers.is_empty() {
            format!("the number of a sensor of {word}, with /H or /E where its step is chosen")
        } else {
            format!("a sensor number of {word} such as {}", numbers.join(", "))
        }
    };
    let Some((number, _)) = number_and_choice(&series.parameter) else {
        return Some((format!("parameter \"{}\"", series.parameter), of_quantity()));
    };
    if let Some(known) = sensor(number)
        && !known.quantities.contains(&series.quantity)
    {
        return Some((format!("parameter {number} ({})", known.what), of_quantity()));
    }
    if let Some(instead) = refuses_parameter(&series.parameter, cadence) {
        let found = format!("parameter \"{}\" at cadence continuous", series.parameter);
        return Some((found, format!("one of {instead}")));
    }
    refuses_station(&series.station).map(|form| (format!("station \"{}\"", series.station), form.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources::unit::conversion;

    #[test]
    fn every_row_converts_a_real_magnitude() {
        // Number, figure as such a station reports it, the same in SI by the exact definitions of foot,
        // acre-foot and degree (worked by hand); 4 090 763 AF, 52.4 DEG F and 13.31 FEET as recorded.
        let rows = [
            (1, 13.31, 4.056_888),                // x 0.3048
            (6, 1_005.02, 306.330_096),           // x 0.3048
            (15, 4_090_763.0, 5_045_881_862.211), // x 1233.48183754752
            (20, 535.0, 15.149_512_927),          // x 0.028316846592
            (23, 3_500.0, 99.108_963_072),        // x 0.028316846592
            (25, 52.4, 11.333_333_333),           // (52.4 - 32) / 1.8
            (41, 410.0, 11.609_907_103),          // x 0.028316846592
            (76, -717.0, -20.303_179_006),        // computed inflow below zero
            (8, 100.0, 2.831_684_659),            // x 0.028316846592
            (22, -12.0, -14_801.782_051),         // x 1233.48183754752
            (27, 41.0, 41.0),                     // NTU stay
            (74, 12.0, 0.339_802_159),            // x 0.028316846592
            (146, 11.3, 11.3),                    // degrees Celsius stay
        ];
        assert_eq!(rows.len(), SENSORS.len());
        for (sensor, (number, figure, si)) in SENSORS.iter().zip(rows) {
            assert_eq!(sensor.number, number);
            let stand_in = match sensor.number {
                1 => &[Quantity::PoolElevation][..],
                8 => &[Quantity::Inflow],
                22 => &[Quantity::Storage],
                _ => sensor.quantities,
            };
            for &quantity in stand_in {
                let found = conversion(quantity, Cadence::Continuous, sensor.usual_unit, "x")
                    .unwrap()
                    .to_si(figure);
                // Nine digits after the point or ten figures are given above.
                assert!(
                    (found - si).abs() <= 1e-9 * si.abs().max(1.0),
                    "{number}: {found} against {si}"
                );
            }
        }
    }

    #[test]
    fn a_parameter_is_a_number_with_or_without_a_step() {
        assert_eq!(number_and_choice("25"), Some((25, None)));
        assert_eq!(number_and_choice("25/E"), Some((25, Some(Step::Event))));
        assert_eq!(number_and_choice(" 15 / H "), Some((15, Some(Step::Hourly))));
        for no_parameter in ["", "/E", "25/", "25/M", "25/e", "+25", "0", "1234", "TEMP W"] {
            assert_eq!(number_and_choice(no_parameter), None, "{no_parameter}");
        }
    }

    #[test]
    fn within_the_day_the_choice_counts_and_daily_values_are_daily() {
        assert_eq!(step_of(None, Cadence::Continuous), Some(Step::Hourly));
        assert_eq!(step_of(Some(Step::Event), Cadence::Continuous), Some(Step::Event));
        assert_eq!(step_of(Some(Step::Event), Cadence::Daily), Some(Step::Daily));
        assert_eq!(step_of(Some(Step::Daily), Cadence::Continuous), None);
        assert_eq!(refuses_parameter("15/D", Cadence::Daily), None);
        assert_eq!(
            refuses_parameter("15/D", Cadence::Continuous).as_deref(),
            Some("15/H, 15/E")
        );
    }
}
