//! Factors of the water model.

use super::block::{Block, quote};
use super::places::all;
use crate::lake::ModelFactor;

/// All factors, in the order of the file; `None` where one of them is faulty.
pub(super) fn read_model_factors(root: &Block<'_, '_>) -> Option<Vec<ModelFactor>> {
    let mut names: Vec<&str> = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let name = block.word("name");
        let (median, log_sd) = (block.number("median_frac"), block.number("log_sd"));
        let name = name?;
        if names.contains(&name.value) {
            block.fault(
                &name.span,
                format!("a second block of {}", quote(name.value)),
                "one for each factor",
                "remove one of the two",
            );
            return None;
        }
        names.push(name.value);
        Some(ModelFactor {
            name: name.value.to_owned(),
            median_frac: median?.value,
            log_sd: log_sd?.value,
        })
    };
    all(root.blocks("model_factors").iter().map(read))
}
