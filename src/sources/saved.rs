//! The records of a saved reply, without any lake: for `plungeline read`.

use serde::Serialize;

use super::error::{ReadError, SourceError};
use super::job::RowFault;
use super::registry::{SERVICES, service};
use super::reply::{FILE_CAP_BYTES, read_json, unpacked};
use super::unit::conversion;
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::series::{Approval, Flag};

/// The records of a saved reply.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Saved {
    /// Service.
    pub service: &'static str,
    /// Kind of reply, in words.
    pub kind: String,
    /// Records, in the order of the reply.
    pub records: Vec<SavedRecord>,
    /// What could not be read.
    pub faults: Vec<RowFault>,
}

/// One record of a saved reply.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SavedRecord {
    /// Instant in UTC; a day where the service gives one without an instant.
    pub time: String,
    /// The service's own name of the time series, which tells several sensors of one parameter apart; empty
    /// where it has none.
    pub series: String,
    /// Station or position.
    pub station: String,
    /// The service's parameter, member suffix left out.
    pub parameter: String,
    /// Member of an ensemble, where there is one.
    pub member: Option<u16>,
    /// Value as the service gave it; `None` when it sent none.
    pub value: Option<f64>,
    /// Unit as the service gave it.
    pub unit: String,
    /// Quantity, where the service's table has one for the parameter.
    pub quantity: Option<Quantity>,
    /// Value in the quantity's SI unit, no datum offset added; `None` without quantity or value.
    pub value_si: Option<f64>,
    /// Quality, as far as the reply alone tells: missing, failed where the service itself rejects the value,
    /// else not evaluated. The checks of `quality` need a lake.
    pub flag: Flag,
    /// Provisional or approved.
    pub approval: Approval,
    /// The service's own codes beside the value.
    pub qualifier: String,
    /// Names, places, dates of issue: whatever else it says.
    pub note: String,
}

impl SavedRecord {
    /// A record of a station without a value; what it holds beyond that is put into it.
    pub fn of(station: &str, parameter: &str) -> SavedRecord {
        SavedRecord {
            time: String::new(),
            series: String::new(),
            station: station.to_owned(),
            parameter: parameter.to_owned(),
            member: None,
            value: None,
            unit: String::new(),
            quantity: None,
            value_si: None,
            flag: Flag::Missing,
            approval: Approval::Unstated,
            qualifier: String::new(),
            note: String::new(),
        }
    }

    /// With the service's own name of what it is.
    #[must_use]
    pub fn named(mut self, series: &str) -> SavedRecord {
        series.clone_into(&mut self.series);
        self
    }

    /// With a value in the unit of the service, in SI where `quantity` has that unit, and flagged as not
    /// evaluated or missing.
    #[must_use]
    pub fn with_value(
        mut self,
        value: Option<f64>,
        unit: &str,
        quantity: Option<Quantity>,
        cadence: Cadence,
    ) -> SavedRecord {
        let to_si = quantity.and_then(|q| conversion(q, cadence, unit, &self.parameter).ok());
        self.value = value;
        unit.clone_into(&mut self.unit);
        self.quantity = quantity;
        self.value_si = to_si.zip(value).map(|(to_si, value)| to_si.to_si(value));
        self.flag = if value.is_some() {
            Flag::NotEvaluated
        } else {
            Flag::Missing
        };
        self
    }
}

/// The records of `bytes`, a reply of the service named, or of whichever service recognises it.
/// Gzip is unpacked. `origin` names the bytes in messages.
///
/// # Errors
/// [`SourceError::UnknownService`] for a name that is not registered, [`SourceError::Read`] for bytes
/// that are no reply of it.
pub fn read_saved(name: Option<&str>, bytes: &[u8], origin: &str) -> Result<Saved, SourceError> {
    let named = name.map(service).transpose()?;
    let read_error = |service, fault| SourceError::Read {
        service,
        origin: origin.to_owned(),
        fault,
    };
    let plain = unpacked(bytes, FILE_CAP_BYTES)
        .map_err(|fault| read_error(named.map_or("an unnamed service", |s| s.name), fault))?;
    let Some(chosen) = named.or_else(|| SERVICES.iter().find(|s| (s.recognises)(&plain))) else {
        return Err(read_error("an unnamed service", unrecognised(&plain)));
    };
    (chosen.read_saved)(&plain).map_err(|fault| read_error(chosen.name, fault))
}

/// Why no service claims these bytes.
fn unrecognised(bytes: &[u8]) -> ReadError {
    match read_json::<serde::de::IgnoredAny>(bytes, "a reply of a service") {
        Err(fault) => fault,
        Ok(_) => ReadError::Kind {
            found: "JSON of another shape".to_owned(),
            wanted: SERVICES
                .iter()
                .map(|s| format!("a reply of {}", s.name))
                .collect::<Vec<_>>()
                .join(", "),
        },
    }
}
