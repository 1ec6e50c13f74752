//! The shape of the lake, read from the same lake file that the program reads.

use std::path::Path;

use plungeline::units::{M_PER_FT, M2_PER_ACRE};

/// Elevation against area and volume; area linear between rows, volume its exact integral.
pub struct Bowl {
    elevation_m: Vec<f64>,
    area_m2: Vec<f64>,
    volume_m3: Vec<f64>,
    /// Elevations of the outlets' middles.
    pub outlets_m: Vec<f64>,
}

/// Why the lake file did not do.
#[derive(Debug, thiserror::Error)]
pub enum BowlError {
    /// The file cannot be read.
    #[error("cannot read the lake file {path}")]
    Read {
        /// File.
        path: std::path::PathBuf,
        /// Cause.
        #[source]
        source: std::io::Error,
    },
    /// The file is not TOML.
    #[error("cannot read the lake file as TOML")]
    Toml(#[from] toml::de::Error),
    /// A key is missing.
    #[error("the lake file lacks {0}")]
    Missing(&'static str),
}

impl Bowl {
    /// Reads `[hypsography]` and `[[outlets]]` of the lake file.
    pub fn read(path: &Path) -> Result<Bowl, BowlError> {
        let text = std::fs::read_to_string(path).map_err(|source| BowlError::Read {
            path: path.to_path_buf(),
            source,
        })?;
        let file: toml::Table = toml::from_str(&text)?;
        let rows = file
            .get("hypsography")
            .and_then(|h| h.get("rows"))
            .and_then(toml::Value::as_array);
        let rows = rows.ok_or(BowlError::Missing("hypsography.rows"))?;
        let mut bowl = Bowl {
            elevation_m: vec![],
            area_m2: vec![],
            volume_m3: vec![],
            outlets_m: vec![],
        };
        for row in rows {
            let elevation_m =
                M_PER_FT * number(row, "elevation_ft").ok_or(BowlError::Missing("elevation_ft"))?;
            let area_m2 = M2_PER_ACRE * number(row, "area_acres").ok_or(BowlError::Missing("area_acres"))?;
            let volume_m3 = match bowl.elevation_m.last() {
                None => 0.0,
                Some(below_m) => {
                    let mean_m2 = 0.5 * (area_m2 + bowl.area_m2[bowl.area_m2.len() - 1]);
                    bowl.volume_m3[bowl.volume_m3.len() - 1] + mean_m2 * (elevation_m - below_m)
                }
            };
            bowl.elevation_m.push(elevation_m);
            bowl.area_m2.push(area_m2);
            bowl.volume_m3.push(volume_m3);
        }
        let outlets = file.get("outlets").and_then(toml::Value::as_array);
        for outlet in outlets.ok_or(BowlError::Missing("outlets"))? {
            let middle_ft =
                number(outlet, "elevation_ft").ok_or(BowlError::Missing("outlets.elevation_ft"))?;
            bowl.outlets_m.push(M_PER_FT * middle_ft);
        }
        Ok(bowl)
    }

    /// Elevation of the deepest bed.
    pub fn bed_m(&self) -> f64 {
        self.elevation_m[0]
    }

    /// Area of the surface at an elevation, within the table.
    pub fn area_m2(&self, elevation_m: f64) -> f64 {
        let (row, rise_m, slope_m) = self.place(elevation_m);
        self.area_m2[row] + slope_m * rise_m
    }

    /// Volume below an elevation, within the table.
    pub fn volume_m3(&self, elevation_m: f64) -> f64 {
        let (row, rise_m, slope_m) = self.place(elevation_m);
        self.volume_m3[row] + rise_m * (self.area_m2[row] + 0.5 * slope_m * rise_m)
    }

    /// Elevation of the surface that holds a volume.
    pub fn elevation_m(&self, volume_m3: f64) -> f64 {
        let row = self
            .volume_m3
            .partition_point(|v| *v <= volume_m3)
            .clamp(1, self.volume_m3.len() - 1)
            - 1;
        let slope_m = self.slope_m(row);
        let (area_m2, rest_m3) = (self.area_m2[row], volume_m3 - self.volume_m3[row]);
        // Root of  rest = area x + slope x^2 / 2  in the form that does not cancel.
        let rise_m = 2.0 * rest_m3 / (area_m2 + libm::sqrt(area_m2 * area_m2 + 2.0 * slope_m * rest_m3));
        self.elevation_m[row] + rise_m
    }

    fn slope_m(&self, row: usize) -> f64 {
        (self.area_m2[row + 1] - self.area_m2[row]) / (self.elevation_m[row + 1] - self.elevation_m[row])
    }

    fn place(&self, elevation_m: f64) -> (usize, f64, f64) {
        let last = self.elevation_m.len() - 1;
        let row = self
            .elevation_m
            .partition_point(|e| *e <= elevation_m)
            .clamp(1, last)
            - 1;
        (row, elevation_m - self.elevation_m[row], self.slope_m(row))
    }
}

fn number(table: &toml::Value, key: &str) -> Option<f64> {
    table
        .get(key)
        .and_then(|value| value.as_float().or_else(|| value.as_integer().map(|i| i as f64)))
}
