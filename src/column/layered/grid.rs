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
        Ok(Grid {
            hypsography,
            face_elevation_m,
            face_area_m2,
            face_volume_m3,
        })
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
