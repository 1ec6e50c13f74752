//! Marks as SVG.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::colour::Rgb;
use super::raster::{PictureError, field_png};
use super::scene::{Anchor, Area, Mark, Scene};

/// The scene as SVG 1.1. A field is drawn as runs of one colour, or as an embedded PNG where that is smaller.
///
/// # Errors
/// [`PictureError`] where a field cannot be packed as PNG.
pub fn render_svg(scene: &Scene) -> Result<String, PictureError> {
    let (w, h) = (scene.width, scene.height);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{w}\" height=\"{h}\" \
         viewBox=\"0 0 {w} {h}\" role=\"img\" font-family=\"DejaVu Sans, Verdana, sans-serif\">\n<title>{}</title>\n\
         <rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n",
        escaped(&scene.description)
    );
    for mark in &scene.marks {
        svg.push_str(&drawn(mark)?);
        svg.push('\n');
    }
    svg.push_str("</svg>\n");
    Ok(svg)
}

fn drawn(mark: &Mark) -> Result<String, PictureError> {
    Ok(match mark {
        Mark::Rect(area, fill) => format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"{}\"/>",
            area.x,
            area.y,
            area.w,
            area.h,
            hex(*fill)
        ),
        Mark::Field { area, across, cell } => {
            let (runs, image) = (
                field_runs(*area, *across, cell),
                field_image(*area, *across, cell)?,
            );
            if image.len() < runs.len() { image } else { runs }
        }
        Mark::Polygon(points, fill) => {
            format!("<polygon points=\"{}\" fill=\"{}\"/>", places(points), hex(*fill))
        }
        Mark::Line {
            points,
            width,
            colour,
        } => format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"/>",
            places(points),
            hex(*colour)
        ),
        Mark::Dot {
            at,
            radius,
            fill,
            outline,
        } => format!(
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{radius}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"0.7\"/>",
            at.0,
            at.1,
            hex(*fill),
            hex(*outline)
        ),
        Mark::Text {
            at: (x, y),
            size,
            anchor,
            upwards,
            text,
        } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let turn = match upwards {
                true => format!(" transform=\"rotate(-90 {x:.1} {y:.1})\""),
                false => String::new(),
            };
            format!(
                "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"#222\"{turn}>{}</text>",
                escaped(text)
            )
        }
    })
}

/// Points as SVG wants them.
fn places(points: &[(f32, f32)]) -> String {
    let mut places = String::new();
    for (x, y) in points {
        let _ = write!(places, "{x:.1},{y:.1} ");
    }
    places.truncate(places.trim_end().len());
    places
}

/// One path a colour, of runs of cells along the rows.
fn field_runs(area: Area, across: usize, cell: &[Option<Rgb>]) -> String {
    let mut paths: BTreeMap<Rgb, String> = BTreeMap::new();
    for (row, cells) in cell.chunks(across.max(1)).enumerate() {
        let mut begin = 0;
        for run in cells.chunk_by(|a, b| a == b) {
            if let Some(colour) = run[0] {
                let length = run.len();
                let _ = write!(
                    paths.entry(colour).or_default(),
                    "M{begin} {row}h{length}v1h-{length}z"
                );
            }
            begin += run.len();
        }
    }
    let rows = cell.len().div_ceil(across.max(1)).max(1);
    let mut found = format!(
        "<g transform=\"translate({:.1} {:.1}) scale({:.5} {:.5})\" shape-rendering=\"crispEdges\">",
        area.x,
        area.y,
        area.w / across.max(1) as f32,
        area.h / rows as f32
    );
    for (colour, path) in paths {
        let _ = write!(found, "<path fill=\"{}\" d=\"{path}\"/>", hex(colour));
    }
    found + "</g>"
}

fn field_image(area: Area, across: usize, cell: &[Option<Rgb>]) -> Result<String, PictureError> {
    let packed = base64_of(&field_png(across, cell)?);
    Ok(format!(
        "<image x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" preserveAspectRatio=\"none\" \
         style=\"image-rendering:pixelated\" xlink:href=\"data:image/png;base64,{packed}\"/>",
        area.x, area.y, area.w, area.h
    ))
}

fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// Base 64 (RFC 4648, section 4).
fn base64_of(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut found = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let at = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for k in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * k)) as usize & 63];
            found.push(if k <= three.len() { char::from(letter) } else { '=' });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base_64_is_that_of_the_standard() {
        // RFC 4648, section 10.
        let rows = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
        ];
        for (plain, packed) in rows {
            assert_eq!(base64_of(plain.as_bytes()), packed);
        }
    }

    #[test]
    fn a_field_of_few_runs_is_drawn_as_runs_and_a_speckled_one_as_an_image() {
        let scene = |cell: Vec<Option<Rgb>>| Scene {
            width: 100.0,
            height: 100.0,
            description: "a < b".to_owned(),
            marks: vec![Mark::Field {
                area: Area {
                    x: 0.0,
                    y: 0.0,
                    w: 100.0,
                    h: 100.0,
                },
                across: 100,
                cell,
            }],
        };
        let even = render_svg(&scene(vec![Some([1, 2, 3]); 100])).unwrap();
        assert!(
            even.contains("M0 0h100v1h-100z") && even.contains("a &lt; b"),
            "{even}"
        );
        let speckled = (0..10_000)
            .map(|i| Some([(i * 7919 % 251) as u8, (i * 31 % 97) as u8, 0]))
            .collect();
        assert!(
            render_svg(&scene(speckled))
                .unwrap()
                .contains("data:image/png;base64,iVBOR")
        );
    }
}
