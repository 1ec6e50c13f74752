//! The records of a saved reply, without any lake: for `plungeline read`.

use serde::Serialize;

use super::error::{ReadError, SourceError};
use super::job::RowFault;
use super::registry::{SERVICES, service};
use super::reply::{FILE_CAP_BYTES, read_json, unpacked};
use crate::quantity::Quantity;

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
    /// Station or position.
    pub station: String,
    /// The service's parameter, member suffix left out.
    pub parameter: String,
    /// Member of an ensemble, where there is one.
    pub member: Option<u16>,
    /// Day, or instant in UTC.
    pub time: String,
    /// Value as the service gave it; `None` when it sent none.
    pub value: Option<f64>,
    /// Unit as the service gave it.
    pub unit: String,
    /// Quantity, where the service's table has one for the parameter.
    pub quantity: Option<Quantity>,
    /// Value in the quantity's SI unit, no datum offset added; `None` without quantity or value.
    pub value_si: Option<f64>,
    /// Approval, qualifier, name: whatever else it says.
    pub note: String,
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
