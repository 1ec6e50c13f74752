//! Several series of one quantity and place: which is asked first.

use super::{Lake, SeriesPlace, SeriesSource};
use crate::quantity::Quantity;

impl Lake {
    /// The series of `quantity` at `place` in the order of preference: as the file has them, each followed
    /// by those that stand in for it.
    pub fn series_of(&self, quantity: Quantity, place: &SeriesPlace) -> impl Iterator<Item = &SeriesSource> {
        let here: Vec<&SeriesSource> = self
            .series
            .iter()
            .filter(|s| s.quantity == quantity && &s.place == place)
            .collect();
        let stands_alone = |s: &&&SeriesSource| {
            let first = s.stands_in_for.as_ref();
            first.is_none_or(|first| here.iter().all(|other| &other.id != first))
        };
        let mut ordered: Vec<&SeriesSource> = Vec::with_capacity(here.len());
        for first in here.iter().filter(stands_alone) {
            ordered.extend(self.chain_of(first));
        }
        // Series that stand in for each other in a circle, which the check of the lake file refuses.
        let circle = here.iter().filter(|s| ordered.iter().all(|o| o.id != s.id));
        let circle: Vec<&SeriesSource> = circle.copied().collect();
        ordered.into_iter().chain(circle)
    }

    /// `first`, then the series that stand in for it (of several the earlier in the file first), then those
    /// that stand in for these, and so on.
    pub fn chain_of<'a>(&'a self, first: &'a SeriesSource) -> Vec<&'a SeriesSource> {
        let mut chain = vec![first];
        let mut next = 0;
        while let Some(link) = chain.get(next).copied() {
            for series in &self.series {
                let alike = series.quantity == first.quantity && series.place == first.place;
                let known = chain.iter().any(|s| s.id == series.id);
                if alike && !known && series.stands_in_for.as_ref() == Some(&link.id) {
                    chain.push(series);
                }
            }
            next += 1;
        }
        chain
    }
}
