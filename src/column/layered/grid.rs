//! The fixed elevations of a column's layers, with their areas and volumes.

use crate::lake::Hypsography;

/// Why elevations make no grid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GridError {
    /// Too few faces for a layer.
    #[error(
        "laying out the layers of a column: found {found} elevations, wanted at least 2; give a finer step"
    )]
    TooFew {
        /// How many there were.
        found: usize,
    },
    /// A face not above the one before.
    #[error(
        "laying out the layers of a column: found {found_m} m after {before_m} m, wanted elevations that rise; put them in order"
    )]
    Order {
        /// Elevation found.
        found_m: f64,
        /// The one before.
        before_m: f64,
    },
    /// A face where the lake is not known.
    #[error(
        "laying out the layers of a column: found {found_m} m, wanted elevations within the table of the hypsography, {lowest_m} to {highest_m} m; extend the table"
    )]
    Outside {
        /// Elevation found.
        found_m: f64,
        /// First row of the table; not a number of an empty one.
        lowest_m: f64,
        /// Last row.
        highest_m: f64,
    },
}

/// Faces and layers of a column, bed first: layer `i` lies between the faces `i` and `i + 1`.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    hypsography: Hypsography,
    face_elevation_m: Vec<f64>,
    face_area_m2: Vec<f64>,
    face_volume_m3: Vec<f64>,
    face_apart_m: Vec<f64>,
    face_bed_m2: Vec<f64>,
    layer_bed_m2: Vec<f64>,
}

impl Grid {
    /// The layers between the given faces. Volumes are those of the hypsography and areas the slope of the same
    /// curve, or heat that is reckoned with both would not close.
    ///
    /// # Errors
    /// [`GridError`].
    pub fn new(hypsography: Hypsography, face_elevation_m: Vec<f64>) -> Result<Grid, GridError> {
        if face_elevation_m.len() < 2 {
            return Err(GridError::TooFew {
                found: face_elevation_m.len(),
            });
        }
        if let Some(pair) = face_elevation_m
            .windows(2)
            .find(|pair| pair[0].partial_cmp(&pair[1]) != Some(std::cmp::Ordering::Less))
        {
            return Err(GridError::Order {
                found_m: pair[1],
                before_m: pair[0],
            });
        }
        let known = |elevation_m: f64| {
            let area_m2 = hypsography.volume_slope_m2(elevation_m);
            let volume_m3 = hypsography.volume_m3(elevation_m);
            area_m2.zip(volume_m3).ok_or_else(|| GridError::Outside {
                found_m: elevation_m,
                lowest_m: hypsography.bed_elevation_m().unwrap_or(f64::NAN),
                highest_m: hypsography.top_elevation_m().unwrap_or(f64::NAN),
            })
        };
        let (mut face_area_m2, mut face_volume_m3) = (Vec::new(), Vec::new());
        for elevation_m in &face_elevation_m {
            let (area_m2, volume_m3) = known(*elevation_m)?;
            face_area_m2.push(area_m2);
            face_volume_m3.push(volume_m3);
        }
        // Water below the first face belongs to the first layer.
        face_volume_m3[0] = 0.0;
        let layers = face_elevation_m.len() - 1;
        let inner = |of: &dyn Fn(usize) -> f64| -> Vec<f64> {
            let is_inner = |face: usize| face > 0 && face < layers;
            (0..=layers)
                .map(|face| if is_inner(face) { of(face) } else { 0.0 })
                .collect()
        };
        let face_apart_m = inner(&|face| 0.5 * (face_elevation_m[face + 1] - face_elevation_m[face - 1]));
        let face_bed_m2 = inner(&|face| bed_around_m2(&face_area_m2, face, face_area_m2[face + 1]));
        let layer_bed_m2 = (0..layers)
            .map(|layer| bed_of_layer_m2(&face_area_m2, layer, face_area_m2[layer + 1]))
            .collect();
        Ok(Grid {
            hypsography,
            face_elevation_m,
            face_area_m2,
            face_volume_m3,
            face_apart_m,
            face_bed_m2,
            layer_bed_m2,
        })
    }

    /// Distance of the middles of the full layers over and under each face, m, shape `[layers + 1]`; 0 at the outer two.
    #[inline]
    pub(super) fn face_apart_m(&self) -> &[f64] {
        &self.face_apart_m
    }

    /// Bed between those middles, m2, shape `[layers + 1]`; the whole bed under the lowest middle with it. 0 at the outer two.
    #[inline]
    pub(super) fn face_bed_m2(&self) -> &[f64] {
        &self.face_bed_m2
    }

    /// Bed around a face under a surface of `over_m2` in the layer over it, m2.
    #[inline(always)]
    pub(super) fn bed_around_m2(&self, face: usize, over_m2: f64) -> f64 {
        bed_around_m2(&self.face_area_m2, face, over_m2)
    }

    /// Bed of each full layer, m2, shape `[layers]`: its upper area less its lower one, and the bed's own in the lowest.
    #[inline]
    pub(super) fn layer_bed_m2(&self) -> &[f64] {
        &self.layer_bed_m2
    }

    /// Bed of a layer with a surface of `over_m2`, m2.
    #[inline(always)]
    pub(super) fn bed_of_layer_m2(&self, layer: usize, over_m2: f64) -> f64 {
        bed_of_layer_m2(&self.face_area_m2, layer, over_m2)
    }

    /// Number of layers.
    #[inline]
    pub fn layers(&self) -> usize {
        self.face_elevation_m.len() - 1
    }

    /// Elevations of the faces, m, shape `[layers + 1]`.
    #[inline]
    pub fn face_elevation_m(&self) -> &[f64] {
        &self.face_elevation_m
    }

    /// Areas of the faces, m2, shape `[layers + 1]`.
    #[inline]
    pub fn face_area_m2(&self) -> &[f64] {
        &self.face_area_m2
    }

    /// Volume of layer `layer` when it is full, m3.
    #[inline]
    pub fn full_volume_m3(&self, layer: usize) -> f64 {
        self.face_volume_m3[layer + 1] - self.face_volume_m3[layer]
    }

    /// Volume below face `face`, m3.
    #[inline]
    pub fn volume_below_m3(&self, face: usize) -> f64 {
        self.face_volume_m3[face]
    }

    /// Thickness of layer `layer` when it is full, m.
    #[inline]
    pub fn thickness_m(&self, layer: usize) -> f64 {
        self.face_elevation_m[layer + 1] - self.face_elevation_m[layer]
    }

    /// Elevation of the surface of a whole volume; `None` where the table does not have it.
    pub fn surface_elevation_m(&self, volume_m3: f64) -> Option<f64> {
        self.hypsography.elevation_m(volume_m3)
    }

    /// Area of the surface at an elevation; `None` outside the table.
    pub fn surface_area_m2(&self, elevation_m: f64) -> Option<f64> {
        self.hypsography.volume_slope_m2(elevation_m)
    }

    /// Volume below an elevation; `None` outside the table.
    pub fn volume_m3(&self, elevation_m: f64) -> Option<f64> {
        self.hypsography.volume_m3(elevation_m)
    }
}

#[inline(always)]
fn bed_around_m2(areas_m2: &[f64], face: usize, over_m2: f64) -> f64 {
    let under_m2 = if face == 1 {
        0.0
    } else {
        areas_m2[face - 1] + areas_m2[face]
    };
    0.5 * (areas_m2[face] + over_m2 - under_m2).max(0.0)
}

#[inline(always)]
fn bed_of_layer_m2(areas_m2: &[f64], layer: usize, over_m2: f64) -> f64 {
    let under_m2 = if layer == 0 { 0.0 } else { areas_m2[layer] };
    (over_m2 - under_m2).max(0.0)
}
