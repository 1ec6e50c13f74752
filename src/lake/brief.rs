//! What a brief needs of a lake beyond what a hindcast does.

use super::error::LakeError;
use super::model::Lake;

impl Lake {
    /// Whether there can be a brief of the lake: a northern one, with a boat, a species, and its hypsography, if any,
    /// in the lake file.
    ///
    /// # Errors
    /// [`LakeError::NoBrief`] with the first thing that is not so.
    pub fn check_for_brief(&self) -> Result<(), LakeError> {
        let refuse = |found, wanted, mend| {
            Err(LakeError::NoBrief {
                lake: self.id.clone(),
                found,
                wanted,
                mend,
            })
        };
        if self.latitude_deg < 0.0 {
            return refuse(
                "a southern latitude",
                "a northern one, since seasons of the rules for fish are northern",
                "of a southern lake there are hindcasts only; for a northern lake remove the minus sign",
            );
        }
        if self.boat.is_none() {
            return refuse(
                "no [boat]",
                "your boat",
                "add the block [boat] to the lake file (docs/lake-file.md)",
            );
        }
        if self.species.is_empty() {
            return refuse(
                "no [[species]]",
                "a species to answer for",
                "add a block [[species]] to the lake file (docs/lake-file.md)",
            );
        }
        if self.hypsography_table.is_some() {
            return refuse(
                "a hypsography in a file of its own",
                "its rows in the lake file",
                "write them as `rows` under [hypsography]; a file serves hindcasts only",
            );
        }
        Ok(())
    }
}
