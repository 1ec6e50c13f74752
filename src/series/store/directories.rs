//! Where stores live.

use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

use crate::series::StoreError;

/// The folder that holds the stores of all lakes: `chosen` (`--store DIR`) where it is given,
/// `plungeline/` under the XDG data folder otherwise.
///
/// # Errors
/// [`StoreError::NoHome`] when nothing is chosen and no home folder is known.
pub fn store_root(chosen: Option<&Path>) -> Result<PathBuf, StoreError> {
    match chosen {
        Some(folder) => Ok(folder.to_owned()),
        None => Ok(strategy()?.data_dir().join("plungeline")),
    }
}

/// The folder that holds the demonstration's stores: `chosen` where it is given, `plungeline/demo/`
/// under the XDG cache folder otherwise. Never the user's own store.
///
/// # Errors
/// [`StoreError::NoHome`] when nothing is chosen and no home folder is known.
pub fn demo_root(chosen: Option<&Path>) -> Result<PathBuf, StoreError> {
    match chosen {
        Some(folder) => Ok(folder.to_owned()),
        None => Ok(strategy()?.cache_dir().join("plungeline").join("demo")),
    }
}

fn strategy() -> Result<impl BaseStrategy, StoreError> {
    etcetera::choose_base_strategy().map_err(StoreError::NoHome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chosen_folder_is_taken_as_it_is() {
        let chosen = Path::new("some/where");
        assert_eq!(store_root(Some(chosen)).unwrap(), chosen);
        assert_eq!(demo_root(Some(chosen)).unwrap(), chosen);
    }

    #[test]
    fn the_demonstration_never_shares_the_users_folder() {
        let (user, demo) = (store_root(None).unwrap(), demo_root(None).unwrap());
        assert!(user.ends_with("plungeline"));
        assert!(!demo.starts_with(&user) && !user.starts_with(&demo));
    }
}
