//! What is wrong in the bytes of a reply.

use crate::quantity::Quantity;

/// What is wrong in the bytes of a reply.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// Nothing there.
    #[error("found an empty body, wanted {wanted}; ask again later")]
    Empty {
        /// What was due.
        wanted: &'static str,
    },
    /// Something else than JSON.
    #[error(
        "found {found} (begins \"{begins}\"), wanted JSON; the service is down or has moved, ask again later"
    )]
    NotJson {
        /// Kind of what was found.
        found: &'static str,
        /// First characters.
        begins: String,
    },
    /// XML that cannot be read.
    #[error("found XML that cannot be read (begins \"{begins}\"): {reason}; save the file again, whole")]
    Markup {
        /// What is wrong, with its place.
        reason: String,
        /// First characters.
        begins: String,
    },
    /// JSON that stops in the middle.
    #[error(
        "the JSON stops in the middle of \"{path}\" (line {line}, column {column}), wanted it whole; ask again"
    )]
    CutShort {
        /// JSON path reached.
        path: String,
        /// Line of the end.
        line: usize,
        /// Column of the end.
        column: usize,
    },
    /// JSON of another shape.
    #[error("at \"{path}\": {source}; the service may have changed its format")]
    Json {
        /// JSON path.
        path: String,
        /// What was found and wanted there.
        source: serde_json::Error,
    },
    /// An error body of the service.
    #[error(
        "the service says: {reason}; mend station, parameter or position in the lake file if it names one"
    )]
    Said {
        /// Its words.
        reason: String,
    },
    /// Another kind of reply than the job asked for.
    #[error("found {found}, wanted {wanted}; name the right service and kind of reply")]
    Kind {
        /// What was found.
        found: String,
        /// What was wanted.
        wanted: String,
    },
    /// Parallel arrays of unequal length.
    #[error(
        "\"{path}\" has {found} entries, wanted {wanted} as in its time array; the reply is damaged, ask again"
    )]
    Lengths {
        /// JSON path.
        path: String,
        /// Entries found.
        found: usize,
        /// Entries of the time array.
        wanted: usize,
    },
    /// A unit that does not fit the quantity.
    #[error("{what}: found unit \"{found}\", wanted one of {wanted} for {}; mend `unit`, `quantity` or `parameter`", quantity.word())]
    Unit {
        /// Column or parameter.
        what: String,
        /// Unit found.
        found: String,
        /// Quantity of the series.
        quantity: Quantity,
        /// Units that are known for it.
        wanted: String,
    },
    /// Two sensors behind one parameter.
    #[error("parameter {parameter} has {} time series ({}), wanted one; choose with `parameter = \"{parameter}/ID\"`", ids.len(), ids.join(", "))]
    SeveralSensors {
        /// Parameter.
        parameter: String,
        /// Their ids.
        ids: Vec<String>,
    },
    /// A variable that was asked for is not in the reply, or has no values the service knows of.
    #[error(
        "found no variable \"{variable}\" in {place}, wanted it; mend `parameter` or leave the series out"
    )]
    NoVariable {
        /// Variable.
        variable: String,
        /// Block of the reply.
        place: &'static str,
    },
    /// A column that is not in the header.
    #[error(
        "line 1: found columns {found}, wanted one named \"{wanted}\"; mend the column map of the series"
    )]
    Header {
        /// Columns there are.
        found: String,
        /// Column wanted.
        wanted: String,
    },
    /// A time zone that is not known.
    #[error("found stamp zone \"{found}\", wanted an IANA name, UTC, or an offset such as -08:00")]
    Zone {
        /// Text found.
        found: String,
    },
    /// A compressed file that does not unpack.
    #[error(
        "cannot unpack after {unpacked_bytes} bytes: {source}; the file is cut short or damaged, fetch it again"
    )]
    Unpack {
        /// Bytes that came out.
        unpacked_bytes: usize,
        /// Cause.
        source: std::io::Error,
    },
    /// More bytes than allowed.
    #[error("over {cap_bytes} bytes unpacked, wanted less; split the file")]
    TooLarge {
        /// Most bytes allowed.
        cap_bytes: usize,
    },
}
