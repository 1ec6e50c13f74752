//! Where the layers of a lake are put.

/// Layers of a lake between its bed and the highest level.
///
/// Fine layers reach from the top of the table to 20 m below the lowest level that is expected, coarser ones down to the bed:
/// 0.25 m in a lake of up to 15 m, else 0.5 m, or 1 m where the level moves by more than 20 m; then twice, and 20 m
/// further down four times that. Elevations rise; the lowest is the bed. `None` unless bed < lowest level <= top.
pub fn layer_faces_m(bed_m: f64, lowest_level_m: f64, (level_m, top_m): (f64, f64)) -> Option<Vec<f64>> {
    if !(bed_m < lowest_level_m && lowest_level_m <= level_m && level_m <= top_m) {
        return None;
    }
    let fine_m = if top_m - bed_m <= 15.0 {
        0.25
    } else if top_m - lowest_level_m > 20.0 {
        1.0
    } else {
        0.5
    };
    let mut above = Vec::new();
    let mut face_m = level_m;
    while face_m <= top_m {
        above.push(face_m);
        face_m += fine_m;
    }
    above.reverse();
    let mut faces = above;
    let mut face_m = level_m;
    while face_m > bed_m {
        let step_m = if face_m > lowest_level_m - 20.0 {
            fine_m
        } else if face_m > lowest_level_m - 40.0 {
            2.0 * fine_m
        } else {
            4.0 * fine_m
        };
        face_m -= step_m;
        // What would be a thin sliver at the bed goes with the layer above it.
        if face_m - bed_m < 0.5 * step_m {
            face_m = bed_m;
        }
        faces.push(face_m);
    }
    faces.reverse();
    Some(faces)
}
