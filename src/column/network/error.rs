//! Why a step of the network fails.

/// Why a step was not made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StepError {
    /// More water is to leave a column than it has.
    #[error(
        "stepping the network: column {column} of lane {lane} has not the water that is to leave it; look at the flows"
    )]
    Empty {
        /// Column.
        column: usize,
        /// Lane.
        lane: usize,
    },
    /// The lake's volume is outside its table.
    #[error(
        "stepping the network: the volume of lane {lane} is outside the hypsography; look at the flows or extend the table"
    )]
    Level {
        /// Lane.
        lane: usize,
    },
    /// What goes on within a column could not be stepped.
    #[error("stepping the network: column {column} could not be stepped within itself")]
    Physics {
        /// Column.
        column: usize,
    },
}
