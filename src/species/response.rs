//! Response functions as data: which one, and its parameters. `whereabouts` evaluates them.

/// A ramp: 0 up to `zero_at`, 1 from `one_at` on, linear between. Both in the unit of its driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ramp {
    /// Driver at which it leaves 0.
    pub zero_at: f64,
    /// Driver at which it reaches 1; always greater than `zero_at`.
    pub one_at: f64,
}

impl Ramp {
    /// A ramp; `None` unless both ends are finite and `zero_at < one_at`.
    pub fn new(zero_at: f64, one_at: f64) -> Option<Ramp> {
        (zero_at.is_finite() && one_at.is_finite() && zero_at < one_at).then_some(Ramp { zero_at, one_at })
    }
}

/// Shape of an inflow pulse: a ramp over the logarithm of flow over baseflow, fading after the peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PulseShape {
    /// Ramp of flow over baseflow; taken in logarithms, so both ends are above 0.
    pub ratio: Ramp,
    /// Days in which it fades to 1/e after the peak.
    pub fade_days: f64,
}

/// Scales of the pull of a release.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockingScale {
    /// Fish from which on a release counts in full; above 0.
    pub full_count: f64,
    /// Distance from the place of the release in which it fades to 1/e; above 0.
    pub fade_m: f64,
    /// Days in which it fades to 1/e; above 0.
    pub fade_days: f64,
}

/// The response of one rule.
#[derive(Debug, Clone, PartialEq)]
pub enum Response {
    /// 1.
    Constant,
    /// Logarithm of the arm's suitable volume over the main body's, held within +- `bound`.
    VolumeRatio {
        /// Bound in logarithms.
        bound: f64,
    },
    /// Greatest suitability in the zone less that in the main body.
    SuitabilityDifference,
    /// A river colder than the lake's best water, once the lake is warm.
    ColdRefuge {
        /// Ramp of lake less river temperature, degC.
        colder_by_degc: Ramp,
        /// Ramp of the lake's temperature, degC.
        lake_degc: Ramp,
    },
    /// A pulse in season while the river is warm enough, and not yet too warm.
    SpringPulse {
        /// Season's id.
        season: String,
        /// Pulse.
        pulse: PulseShape,
        /// Ramp of river temperature that opens it.
        opens_degc: Ramp,
        /// Ramp of river temperature that closes it.
        closes_degc: Ramp,
    },
    /// The season of the run, until the river is too warm.
    Run {
        /// Season's id.
        season: String,
        /// Ramp of river temperature that closes it.
        closes_degc: Ramp,
    },
    /// A pulse in the season of the run, until the river is too warm.
    RunPulse {
        /// Season's id.
        season: String,
        /// Pulse.
        pulse: PulseShape,
        /// Ramp of river temperature that closes it.
        closes_degc: Ramp,
    },
    /// A pulse outside the species' season.
    PulseOutOfSeason {
        /// Season's id.
        season: String,
        /// Pulse.
        pulse: PulseShape,
    },
    /// Turbid water in the zone.
    Turbid {
        /// Ramp of turbidity, NTU.
        turbidity_ntu: Ramp,
    },
    /// Forage in the zone less that in the main body, by an index from 0 to 1.
    ForageDifference,
    /// Recent releases of hatchery fish into the zone, less those into the main body.
    Stocking(StockingScale),
    /// The level falls.
    LevelFalling {
        /// Ramp of the fall over 7 days, m.
        fall_m: Ramp,
    },
    /// The level rises.
    LevelRising {
        /// Ramp of the rise over 7 days, m.
        rise_m: Ramp,
    },
    /// The main body is nearly as warm at the bottom as at the surface.
    Isothermal {
        /// Ramp of surface less bottom temperature, degC, that closes it.
        difference_degc: Ramp,
    },
}

impl Response {
    /// The names that a species file may use.
    pub const NAMES: [&'static str; 14] = [
        "constant",
        "volume_ratio",
        "suitability_difference",
        "cold_refuge",
        "spring_pulse",
        "run",
        "run_pulse",
        "pulse_out_of_season",
        "turbid",
        "forage_difference",
        "stocking",
        "level_falling",
        "level_rising",
        "isothermal",
    ];
}
