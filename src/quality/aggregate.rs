//! Several tests' flags of one value into one.

use crate::series::Flag;

/// The flag of a value by the rule of this project: a missing value is 9 whatever else; otherwise
/// 4 over 3 over 1 over 2 (project choice, no source). Without any flag, 2.
///
/// ```
/// use plungeline::quality::aggregate::aggregate;
/// use plungeline::series::Flag;
/// assert_eq!(aggregate([Flag::NotEvaluated, Flag::Pass]), Flag::Pass);
/// assert_eq!(aggregate([Flag::Fail, Flag::Missing]), Flag::Missing);
/// ```
pub fn aggregate(flags: impl IntoIterator<Item = Flag>) -> Flag {
    flags.into_iter().fold(Flag::NotEvaluated, stronger)
}

/// Which of two flags stands by the rule of [`aggregate`].
pub fn stronger(a: Flag, b: Flag) -> Flag {
    let rank = |flag: Flag| match flag {
        Flag::NotEvaluated => 0,
        Flag::Pass => 1,
        Flag::Suspect => 2,
        Flag::Fail => 3,
        Flag::Missing => 4,
    };
    if rank(b) > rank(a) { b } else { a }
}

/// The flag of a value by the order of the reference library (ioos_qc 3.0.0): 4 over 3 over 1 over 2
/// over 9. There one pass hides that another test found the value missing; kept for comparison.
pub fn aggregate_as_reference(flags: impl IntoIterator<Item = Flag>) -> Flag {
    let rank = |flag: &Flag| match flag {
        Flag::Missing => 0,
        Flag::NotEvaluated => 1,
        Flag::Pass => 2,
        Flag::Suspect => 3,
        Flag::Fail => 4,
    };
    flags.into_iter().max_by_key(rank).unwrap_or(Flag::NotEvaluated)
}
