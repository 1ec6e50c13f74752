//! The six parts of a series' name, and what they say of quantity and cadence.

use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

/// `Location.Parameter.Type.Interval.Duration.Version`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeriesName<'a> {
    /// Location.
    pub location: &'a str,
    /// Parameter, with its sub-parameter after a hyphen: `Elev`, `Flow-Res In`, `Temp-Water`.
    pub parameter: &'a str,
    /// Type: `Inst`, `Ave`, `Total`, `Max`, `Min`, `Const`.
    pub kind: &'a str,
    /// Interval: `1Hour`, `1Day`, `~1Day`, `0` for none.
    pub interval: &'a str,
    /// Duration of what each value stands for: `0` for an instant.
    pub duration: &'a str,
    /// Version, the office's own word.
    pub version: &'a str,
}

/// What a name looks like, for messages.
const FORM: &str = "a name of six parts, such as Location.Elev.Inst.1Hour.0.Version";

impl<'a> SeriesName<'a> {
    /// The parts of a name; `None` where they are not six, or one is empty.
    pub fn read(text: &'a str) -> Option<SeriesName<'a>> {
        let parts: Vec<&str> = text.trim().split('.').collect();
        let [location, parameter, kind, interval, duration, version] = parts.as_slice() else {
            return None;
        };
        parts
            .iter()
            .all(|part| !part.trim().is_empty())
            .then_some(SeriesName {
                location,
                parameter,
                kind,
                interval,
                duration,
                version,
            })
    }

    /// The cadence that the interval makes; `None` for values by the week or longer.
    pub fn cadence(&self) -> Option<Cadence> {
        let interval = self.interval.trim_start_matches('~');
        if interval == "1Day" {
            return Some(Cadence::Daily);
        }
        let is_short = interval == "0" || interval.contains("Minute") || interval.contains("Hour");
        is_short.then_some(Cadence::Continuous)
    }

    /// Quantities that the parameter may stand for; none for one that is of no use here.
    pub fn quantities(&self) -> &'static [Quantity] {
        // The part before the hyphen is the base parameter, of a list that all offices share.
        match self.parameter.split('-').next().unwrap_or_default() {
            "Elev" => &[Quantity::PoolElevation],
            "Stor" => &[Quantity::Storage],
            "Flow" => &[Quantity::Inflow, Quantity::Release],
            "Temp" => &[
                Quantity::WaterTemp,
                Quantity::RiverTemp,
                Quantity::AirTemp,
                Quantity::DewPoint,
            ],
            "Turb" => &[Quantity::Turbidity],
            "Conc" => &[Quantity::DissolvedOxygen],
            "Speed" => &[Quantity::WindSpeed, Quantity::WindGust],
            "Dir" => &[Quantity::WindDirection],
            "Pres" => &[Quantity::SurfacePressure, Quantity::VapourPressure],
            "Precip" => &[Quantity::Precipitation],
            "Irrad" => &[Quantity::Shortwave, Quantity::Longwave],
            _ => &[],
        }
    }
}

/// Quantities of a parameter text.
pub(super) fn quantities(text: &str) -> &'static [Quantity] {
    SeriesName::read(text).map_or(&[], |name| name.quantities())
}

/// What an office looks like, for a text that cannot be one.
pub(super) fn refuses_office(station: &str) -> Option<&'static str> {
    let is_code =
        |text: &str| (2..=16).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_alphanumeric());
    (!is_code(station)).then_some("the office's letters, such as SWT")
}

/// What a name has instead of a cadence.
pub(super) fn refuses_cadence(text: &str, cadence: Cadence) -> Option<String> {
    let has = match SeriesName::read(text)?.cadence() {
        Some(found) if found == cadence => return None,
        Some(Cadence::Daily) => "values by the day (interval 1Day)",
        Some(_) => "values within the day",
        None => "values by the week or longer, which are of no use here",
    };
    Some(has.to_owned())
}

/// What of a series the service does not have.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    let found = || format!("parameter \"{}\"", series.parameter);
    let Some(name) = SeriesName::read(&series.parameter) else {
        return Some((found(), FORM.to_owned()));
    };
    if !name.quantities().contains(&series.quantity) {
        return Some((found(), format!("a parameter of {}", series.quantity.word())));
    }
    refuses_cadence(&series.parameter, cadence)
        .map(|has| (format!("cadence of \"{}\"", series.parameter), has))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_parts_say_quantity_and_cadence() {
        let name = SeriesName::read("HARG.Flow-Res In.Ave.1Hour.1Hour.Best").unwrap();
        assert_eq!((name.location, name.interval), ("HARG", "1Hour"));
        assert_eq!(name.quantities(), [Quantity::Inflow, Quantity::Release]);
        assert_eq!(name.cadence(), Some(Cadence::Continuous));
        let cadence = |text: &str| SeriesName::read(text).unwrap().cadence();
        assert_eq!(cadence("HARG.Elev.Inst.~1Day.0.Best"), Some(Cadence::Daily));
        assert_eq!(cadence("HARG.Elev.Inst.0.0.Best"), Some(Cadence::Continuous));
        assert_eq!(cadence("HARG.Elev.Inst.1Month.0.Best"), None);
        assert!(SeriesName::read("HARG.Elev").is_none() && SeriesName::read("a..c.d.e.f").is_none());
    }

    #[test]
    fn a_name_at_a_cadence_that_it_has_not_is_told_what_it_has() {
        let text = "HARG.Elev.Inst.1Hour.0.Best";
        assert_eq!(refuses_cadence(text, Cadence::Continuous), None);
        assert_eq!(
            refuses_cadence(text, Cadence::Daily).as_deref(),
            Some("values within the day")
        );
        assert!(
            refuses_office("S W T").is_some()
                && refuses_office("").is_some()
                && refuses_office("SWT").is_none()
        );
    }
}
