//! From a lake to columns: the main body one column, each arm a row of reaches, all on one grid of elevations.

use super::valley::Valley;
use crate::column::layered::{Grid, GridError};
use crate::lake::{Hypsography, Lake, ZoneId};

/// Elevations nearer than this are one row of a table, m.
const SAME_ROW_M: f64 = 1e-6;
/// Slices in which the width of a face is averaged over a layer.
const SLICES: usize = 8;

/// Why a lake makes no columns.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LayoutError {
    /// The lake has no hypsography.
    #[error(
        "laying out the columns of {lake}: found no hypsography, wanted elevations with areas; add [hypsography]"
    )]
    Hypsography {
        /// Id of the lake.
        lake: String,
    },
    /// The columns' tables differ in their elevations, or a column joins one that does not come before it.
    #[error(
        "joining columns: column {column} does not fit; give all the same elevations, and each a column before it to join"
    )]
    Part {
        /// The column, counted from 0.
        column: usize,
    },
    /// The elevations make no grid.
    #[error(transparent)]
    Grid(#[from] GridError),
}

/// Where two columns meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Lowest layer of the common grid that is open.
    pub first_layer: usize,
    /// The higher bed of the two columns, m.
    pub sill_elevation_m: f64,
    /// Mean width of the opening in each layer of the common grid, m; 0 below the sill.
    pub width_m: Vec<f64>,
}

/// One column of the network, as it is laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Zone that the column is of.
    pub zone: ZoneId,
    /// Its layers: those of the common grid from `first_layer` up.
    pub grid: Grid,
    /// Lowest layer of the common grid that it has.
    pub first_layer: usize,
    /// Elevation of its lowest bed, m.
    pub bed_elevation_m: f64,
    /// The next column toward the lake, and the face there; `None` of the main body.
    pub toward_lake: Option<(usize, Face)>,
    /// Its piece of the valley, where the thalweg is known.
    pub valley: Option<Valley>,
}

/// A column to be joined to others.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Zone.
    pub zone: ZoneId,
    /// Its area and volume; the same elevations in all parts.
    pub hypsography: Hypsography,
    /// The next column toward the lake (of those before this one) and the width of the face by elevation,
    /// `(elevation_m, width_m)`, linear between, constant outside.
    pub toward_lake: Option<(usize, Vec<(f64, f64)>)>,
    /// Its piece of the valley, where it is known.
    pub valley: Option<Valley>,
}

/// The columns of a lake. The main body comes first; every other column comes after the next one toward the lake.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The columns.
    pub places: Vec<Place>,
    /// The whole lake on the common grid: the sum of the columns at every elevation.
    pub whole: Grid,
}

impl Layout {
    /// The columns of a lake on layers of about `layer_m`, from the deepest bed to the last row of the hypsography;
    /// arms with a thalweg are cut into `reaches` of equal length, an arm without one is one reach.
    ///
    /// Areas: the lake's by the zones' shares; within an arm by the surface of each reach as the thalweg has it, scaled
    /// to the arm's share. Volumes: the trapezoids of those areas, scaled interval by interval as the lake's own
    /// table is, so that the columns add up to the lake at every elevation. An arm without shares of area has no
    /// column; it stays with the main body.
    ///
    /// # Errors
    /// [`LayoutError`].
    pub fn of_lake(lake: &Lake, layer_m: f64, reaches: usize) -> Result<Layout, LayoutError> {
        let faces_m = even_faces_m(table_of(lake)?, layer_m);
        Layout::on_faces(lake, &faces_m, |_| reaches)
    }

    /// As [`Layout::of_lake`], on layers between the given faces, and with as many reaches as `reaches` says for the length
    /// of an arm's thalweg, m.
    ///
    /// # Errors
    /// [`LayoutError`].
    pub fn on_faces(
        lake: &Lake,
        faces_m: &[f64],
        reaches: impl Fn(f64) -> usize,
    ) -> Result<Layout, LayoutError> {
        let table = table_of(lake)?;
        let arms = arms_of(lake, &reaches);
        let rows_m = rows_of(table, faces_m, lake, &arms);
        let mut parts = vec![Part {
            zone: lake.main_body().id.clone(),
            hypsography: sampled(table, &rows_m),
            toward_lake: None,
            valley: Valley::whole(&lake.main_body().thalweg, lake.full_pool_elevation_m),
        }];
        for arm in &arms {
            let before = parts.len();
            for (i, areas_m2) in arm.areas_m2(table, &rows_m).into_iter().enumerate() {
                let hypsography = scaled(table, &rows_m, areas_m2);
                take_away(&mut parts[0].hypsography, &hypsography);
                let width = arm.face_width(i, &hypsography);
                parts.push(Part {
                    zone: arm.zone.clone(),
                    toward_lake: Some((if i == 0 { 0 } else { before + i - 1 }, width)),
                    valley: arm.pieces.get(i).cloned(),
                    hypsography,
                });
            }
        }
        Layout::join(faces_m, parts)
    }

    /// Joins columns on layers between the given faces. The first part is the main body.
    ///
    /// A column begins with the layer that holds its bed, or with the next one where the bed lies in the layer's upper
    /// half: what lies below belongs to the layer above, so that no layer is a sliver.
    ///
    /// # Errors
    /// [`LayoutError::Part`], [`LayoutError::Grid`].
    pub fn join(faces_m: &[f64], parts: Vec<Part>) -> Result<Layout, LayoutError> {
        let mut whole: Option<Hypsography> = None;
        let mut places: Vec<Place> = Vec::new();
        for (column, part) in parts.into_iter().enumerate() {
            let misfit = LayoutError::Part { column };
            match &mut whole {
                None => whole = Some(part.hypsography.clone()),
                Some(sum) if sum.elevation_m == part.hypsography.elevation_m => add(sum, &part.hypsography),
                Some(_) => return Err(misfit),
            }
            let joins_before = part.toward_lake.as_ref().map(|(next, _)| *next < column);
            if joins_before != (column > 0).then_some(true) {
                return Err(misfit);
            }
            let bed_elevation_m = bed_of(&part.hypsography).ok_or(misfit)?;
            let first_layer = first_layer(faces_m, bed_elevation_m);
            let toward_lake = part.toward_lake.map(|(next, widths)| {
                let sill_m = bed_elevation_m.max(places[next].bed_elevation_m);
                let first = first_layer.max(places[next].first_layer);
                (next, face(faces_m, first, sill_m, &widths))
            });
            places.push(Place {
                zone: part.zone,
                grid: Grid::new(
                    part.hypsography,
                    faces_m[first_layer.min(faces_m.len())..].to_vec(),
                )?,
                first_layer,
                bed_elevation_m,
                toward_lake,
                valley: part.valley,
            });
        }
        let whole = Grid::new(whole.ok_or(LayoutError::Part { column: 0 })?, faces_m.to_vec())?;
        Ok(Layout { places, whole })
    }

    /// The columns of a zone, from its mouth to its head.
    pub fn of_zone<'a>(&'a self, zone: &'a ZoneId) -> impl Iterator<Item = usize> + 'a {
        (0..self.places.len()).filter(move |i| &self.places[*i].zone == zone)
    }

    /// The column at the head of a zone: where its river enters. `None` for a zone without columns.
    pub fn head_of(&self, zone: &ZoneId) -> Option<usize> {
        self.of_zone(zone).last()
    }
}

fn table_of(lake: &Lake) -> Result<&Hypsography, LayoutError> {
    lake.hypsography.as_ref().ok_or_else(|| LayoutError::Hypsography {
        lake: lake.id.clone(),
    })
}

/// An arm on its way to become columns.
struct Arm<'a> {
    zone: ZoneId,
    share: &'a crate::lake::Zone,
    /// Pieces of the valley from the mouth to the head; empty without a thalweg.
    pieces: Vec<Valley>,
}

fn arms_of<'a>(lake: &'a Lake, reaches: &impl Fn(f64) -> usize) -> Vec<Arm<'a>> {
    lake.arms()
        .filter(|zone| !zone.area_share.is_empty())
        .map(|zone| {
            let valley = Valley::whole(&zone.thalweg, lake.full_pool_elevation_m);
            let pieces = valley.map_or_else(Vec::new, |valley| {
                let count = reaches(valley.length_m()).max(1);
                let step_m = valley.length_m() / count as f64;
                let end_m = |i: usize| valley.from_m + step_m * i as f64;
                (0..count).map(|i| valley.piece(end_m(i), end_m(i + 1))).collect()
            });
            Arm {
                zone: zone.id.clone(),
                share: zone,
                pieces,
            }
        })
        .collect()
}

impl Arm<'_> {
    /// Areas of the arm's reaches, mouth first, by row.
    fn areas_m2(&self, table: &Hypsography, rows_m: &[f64]) -> Vec<Vec<f64>> {
        let mut reaches = vec![Vec::with_capacity(rows_m.len()); self.pieces.len().max(1)];
        for row_m in rows_m {
            let share = self.share.area_share_frac(*row_m).unwrap_or(0.0);
            let arm_m2 = table.area_m2(*row_m).unwrap_or(0.0) * share;
            let weights: Vec<f64> = self.pieces.iter().map(|p| p.surface_m2(*row_m)).collect();
            let sum: f64 = weights.iter().sum();
            for (i, reach) in reaches.iter_mut().enumerate() {
                // Where the thalweg has no water the arm's has its deepest place at the mouth.
                let part = match (sum > 0.0, i) {
                    (true, _) => weights[i] / sum,
                    (false, 0) => 1.0,
                    (false, _) => 0.0,
                };
                reach.push(arm_m2 * part);
            }
        }
        reaches
    }

    /// Width of the face of a reach toward the lake. Without a thalweg the arm is taken as four times as long as
    /// wide (project choice).
    fn face_width(&self, reach: usize, hypsography: &Hypsography) -> Vec<(f64, f64)> {
        let rows = hypsography.elevation_m.iter().zip(&hypsography.area_m2);
        rows.map(|(row_m, area_m2)| match self.pieces.get(reach) {
            Some(piece) => (*row_m, piece.width_m(piece.from_m, *row_m)),
            None => (*row_m, 0.5 * area_m2.sqrt()),
        })
        .collect()
    }
}

/// Faces of layers of equal thickness, at most `layer_m`, over the whole table.
fn even_faces_m(table: &Hypsography, layer_m: f64) -> Vec<f64> {
    let (Some(bed_m), Some(top_m)) = (table.bed_elevation_m(), table.top_elevation_m()) else {
        return Vec::new();
    };
    let count = ((top_m - bed_m) / layer_m).ceil().max(1.0) as usize;
    let step_m = (top_m - bed_m) / count as f64;
    (0..count)
        .map(|i| bed_m + step_m * i as f64)
        .chain([top_m])
        .collect()
}

/// Every elevation at which an area of the lake or of a column bends.
fn rows_of(table: &Hypsography, faces_m: &[f64], lake: &Lake, arms: &[Arm<'_>]) -> Vec<f64> {
    let shares = lake
        .zones
        .iter()
        .flat_map(|z| z.area_share.iter().map(|row| row.0));
    let beds = arms
        .iter()
        .flat_map(|a| a.pieces.iter().map(Valley::lowest_bed_m));
    let mut rows_m: Vec<f64> = table.elevation_m.clone();
    for row_m in faces_m.iter().copied().chain(shares).chain(beds) {
        let inside = table.area_m2(row_m).is_some();
        // The lake's own rows stay as they are; a face next to one takes its place in the table from it.
        if inside && rows_m.iter().all(|have| (have - row_m).abs() > SAME_ROW_M) {
            rows_m.push(row_m);
        }
    }
    rows_m.sort_by(f64::total_cmp);
    rows_m
}

/// The lake's table on finer rows.
fn sampled(table: &Hypsography, rows_m: &[f64]) -> Hypsography {
    Hypsography {
        elevation_m: rows_m.to_vec(),
        area_m2: rows_m.iter().map(|e| table.area_m2(*e).unwrap_or(0.0)).collect(),
        volume_m3: rows_m
            .iter()
            .map(|e| table.volume_m3(*e).unwrap_or(0.0))
            .collect(),
        volume_given: true,
    }
}

/// The table of a part of the lake with given areas: its trapezoids, scaled as the lake's are.
fn scaled(table: &Hypsography, rows_m: &[f64], area_m2: Vec<f64>) -> Hypsography {
    let lake = sampled(table, rows_m);
    let first = if lake.area_m2[0] > 0.0 {
        area_m2[0] / lake.area_m2[0]
    } else {
        0.0
    };
    let mut volume_m3 = vec![lake.volume_m3[0] * first];
    for i in 1..rows_m.len() {
        let whole = lake.area_m2[i - 1] + lake.area_m2[i];
        let gain_m3 = lake.volume_m3[i] - lake.volume_m3[i - 1];
        let part = if whole > 0.0 {
            (area_m2[i - 1] + area_m2[i]) / whole
        } else {
            0.0
        };
        volume_m3.push(volume_m3[i - 1] + gain_m3 * part);
    }
    Hypsography {
        elevation_m: rows_m.to_vec(),
        area_m2,
        volume_m3,
        volume_given: true,
    }
}

fn add(sum: &mut Hypsography, part: &Hypsography) {
    for i in 0..sum.elevation_m.len() {
        sum.area_m2[i] += part.area_m2[i];
        sum.volume_m3[i] += part.volume_m3[i];
    }
}

fn take_away(rest: &mut Hypsography, part: &Hypsography) {
    for i in 0..rest.elevation_m.len() {
        rest.area_m2[i] = (rest.area_m2[i] - part.area_m2[i]).max(0.0);
        rest.volume_m3[i] = (rest.volume_m3[i] - part.volume_m3[i]).max(0.0);
    }
}

/// Elevation up to which a table holds nothing.
fn bed_of(table: &Hypsography) -> Option<f64> {
    let dry = table.volume_m3.iter().take_while(|v| **v <= 0.0).count();
    table.elevation_m.get(dry.saturating_sub(1)).copied()
}

/// Layer with which a column begins whose bed is at an elevation.
fn first_layer(faces_m: &[f64], bed_m: f64) -> usize {
    let last = faces_m.len().saturating_sub(2);
    let middle = |i: usize| 0.5 * (faces_m[i] + faces_m[i + 1]);
    (0..last).find(|i| bed_m <= middle(*i)).unwrap_or(last)
}

fn face(faces_m: &[f64], first_layer: usize, sill_m: f64, widths: &[(f64, f64)]) -> Face {
    let width_m = (0..faces_m.len() - 1).map(|layer| {
        if layer < first_layer {
            return 0.0;
        }
        let slice_m = (faces_m[layer + 1] - faces_m[layer]) / SLICES as f64;
        let at = |i: usize| faces_m[layer] + (i as f64 + 0.5) * slice_m;
        let open = (0..SLICES).map(at).filter(|e| *e > sill_m);
        open.map(|e| width_at_m(widths, e)).sum::<f64>() / SLICES as f64
    });
    Face {
        first_layer,
        sill_elevation_m: sill_m,
        width_m: width_m.collect(),
    }
}

fn width_at_m(widths: &[(f64, f64)], elevation_m: f64) -> f64 {
    let after = widths.partition_point(|row| row.0 <= elevation_m);
    match (after.checked_sub(1).map(|i| widths[i]), widths.get(after)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (elevation_m - a.0) / (b.0 - a.0),
        (Some(a), None) => a.1,
        (None, Some(b)) => b.1,
        (None, None) => 0.0,
    }
}
