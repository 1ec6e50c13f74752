//! Marks as PNG.

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};
use ab_glyph_rasterizer::{Point, Rasterizer};

use super::colour::Rgb;
use super::scene::{Anchor, Area, INK, Mark, PAPER, Scene};

const FONT: &[u8] = include_bytes!("font/dejavu-sans-subset.ttf");
/// Largest picture, pixels on a side.
const MOST_PIXELS: f32 = 16_384.0;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// Too large, or without size.
    #[error(
        "drawing a picture: found {width} by {height} pixels, wanted 1 to 16384 on a side; choose another size"
    )]
    Size {
        /// Width.
        width: f32,
        /// Height.
        height: f32,
    },
    /// The font within the program cannot be read.
    #[error("drawing a picture: the font within the program cannot be read; build the program anew")]
    Font,
    /// The PNG cannot be written.
    #[error("packing a picture as PNG: {0}; choose another size")]
    Png(#[from] png::EncodingError),
}

/// Pixels, row by row.
struct Canvas {
    across: usize,
    down: usize,
    pixel: Vec<Rgb>,
}

impl Canvas {
    fn blend(&mut self, x: i64, y: i64, colour: Rgb, cover: f32) {
        let inside = (0..self.across as i64).contains(&x) && (0..self.down as i64).contains(&y);
        if !inside || cover <= 0.0 {
            return;
        }
        let pixel = &mut self.pixel[y as usize * self.across + x as usize];
        for (old, new) in pixel.iter_mut().zip(colour) {
            let (a, b) = (f32::from(*old), f32::from(new));
            *old = (a + (b - a) * cover.min(1.0)).round() as u8;
        }
    }

    /// Fills a closed polygon.
    fn fill(&mut self, points: &[(f32, f32)], colour: Rgb) {
        let least = points
            .iter()
            .fold((f32::MAX, f32::MAX), |m, p| (m.0.min(p.0), m.1.min(p.1)));
        let most = points
            .iter()
            .fold((f32::MIN, f32::MIN), |m, p| (m.0.max(p.0), m.1.max(p.1)));
        let (x0, y0) = (least.0.floor() - 1.0, least.1.floor() - 1.0);
        let (w, h) = (most.0.ceil() - x0 + 2.0, most.1.ceil() - y0 + 2.0);
        if !(w.is_finite() && h.is_finite()) || points.len() < 3 {
            return;
        }
        let limit = |side: f32, whole: usize| (side.max(1.0) as usize).min(2 * whole + 8);
        let (w, h) = (limit(w, self.across), limit(h, self.down));
        let mut ink = Rasterizer::new(w, h);
        let moved = |p: &(f32, f32)| Point {
            x: p.0 - x0,
            y: p.1 - y0,
        };
        for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
            ink.draw_line(moved(a), moved(b));
        }
        ink.for_each_pixel_2d(|x, y, cover| {
            self.blend(x0 as i64 + i64::from(x), y0 as i64 + i64::from(y), colour, cover);
        });
    }

    fn line(&mut self, points: &[(f32, f32)], width: f32, colour: Rgb) {
        for pair in points.windows(2) {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            let length = (x1 - x0).hypot(y1 - y0);
            if length > 0.0 {
                let (dx, dy) = (0.5 * width * (x1 - x0) / length, 0.5 * width * (y1 - y0) / length);
                let corners = [
                    (x0 - dx + dy, y0 - dy - dx),
                    (x1 + dx + dy, y1 + dy - dx),
                    (x1 + dx - dy, y1 + dy + dx),
                    (x0 - dx - dy, y0 - dy + dx),
                ];
                self.fill(&corners, colour);
            }
        }
    }

    fn circle(&mut self, at: (f32, f32), radius: f32, colour: Rgb) {
        let points: Vec<(f32, f32)> = (0..32)
            .map(|i| i as f32 * std::f32::consts::TAU / 32.0)
            .map(|a| (at.0 + radius * a.cos(), at.1 + radius * a.sin()))
            .collect();
        self.fill(&points, colour);
    }

    fn field(&mut self, area: Area, across: usize, cell: &[Option<Rgb>]) {
        let rows = cell.len() / across.max(1);
        let (x0, x1) = (area.x.round() as i64, (area.x + area.w).round() as i64);
        let (y0, y1) = (area.y.round() as i64, (area.y + area.h).round() as i64);
        let place = |i: i64, from: i64, to: i64, of: usize| {
            (((i - from) as f64 + 0.5) / (to - from).max(1) as f64 * of as f64) as usize
        };
        for y in y0..y1 {
            for x in x0..x1 {
                let (column, row) = (place(x, x0, x1, across), place(y, y0, y1, rows));
                if let Some(Some(colour)) = cell.get(row * across + column) {
                    self.blend(x, y, *colour, 1.0);
                }
            }
        }
    }

    fn text(&mut self, font: &FontRef, at: (f32, f32), size: f32, anchor: Anchor, upwards: bool, text: &str) {
        let em = font.units_per_em().unwrap_or(2048.0);
        let scale = PxScale::from(size * font.height_unscaled() / em);
        let scaled = font.as_scaled(scale);
        let mut pen = 0.0;
        let mut glyphs: Vec<Glyph> = Vec::new();
        for letter in text.chars() {
            let id = font.glyph_id(letter);
            glyphs.push(id.with_scale_and_position(scale, point(pen, 0.0)));
            pen += scaled.h_advance(id);
        }
        let shift = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -0.5 * pen,
            Anchor::End => -pen,
        };
        for mut glyph in glyphs {
            // Letters keep their place within a pixel along the text; its base line lies on one.
            let (along, across) = if upwards {
                (-at.1 + shift, at.0)
            } else {
                (at.0 + shift, at.1)
            };
            glyph.position = point(glyph.position.x + along, across.round());
            let Some(outline) = font.outline_glyph(glyph) else {
                continue;
            };
            let corner = outline.px_bounds().min;
            outline.draw(|dx, dy, cover| {
                let (u, v) = (corner.x as i64 + i64::from(dx), corner.y as i64 + i64::from(dy));
                let (x, y) = if upwards { (v, -u - 1) } else { (u, v) };
                self.blend(x, y, INK, cover);
            });
        }
    }
}

/// Width of a text in letters of a size, pixels; 0 where the font cannot be read.
pub(super) fn text_width(text: &str, size: f32) -> f32 {
    let Ok(font) = FontRef::try_from_slice(FONT) else {
        return 0.0;
    };
    let em = font.units_per_em().unwrap_or(2048.0);
    let scaled = font.as_scaled(PxScale::from(size * font.height_unscaled() / em));
    text.chars()
        .map(|letter| scaled.h_advance(font.glyph_id(letter)))
        .sum()
}

/// The scene as PNG, each pixel of it `scale` pixels wide: 2 for a sharp screen.
///
/// # Errors
/// [`PictureError`] for a size that cannot be drawn.
pub fn render_png(scene: &Scene, scale: f32) -> Result<Vec<u8>, PictureError> {
    let (width, height) = ((scene.width * scale).round(), (scene.height * scale).round());
    let fits = |side: f32| (1.0..=MOST_PIXELS).contains(&side);
    if !(fits(width) && fits(height)) {
        return Err(PictureError::Size { width, height });
    }
    let font = FontRef::try_from_slice(FONT).map_err(|_| PictureError::Font)?;
    let (across, down) = (width as usize, height as usize);
    let mut canvas = Canvas {
        across,
        down,
        pixel: vec![PAPER; across * down],
    };
    for mark in &scene.marks {
        draw(&mut canvas, &font, mark, scale);
    }
    let bytes: Vec<u8> = canvas.pixel.into_iter().flatten().collect();
    packed(across, down, png::ColorType::Rgb, &bytes)
}

fn draw(canvas: &mut Canvas, font: &FontRef, mark: &Mark, scale: f32) {
    let larger = |p: (f32, f32)| (p.0 * scale, p.1 * scale);
    let whole = |a: Area| Area {
        x: a.x * scale,
        y: a.y * scale,
        w: a.w * scale,
        h: a.h * scale,
    };
    match mark {
        Mark::Rect(area, fill) => {
            let a = whole(*area);
            // On whole pixels, so that rectangles that meet leave no seam.
            let (left, upper) = (a.x.round(), a.y.round());
            let (right, lower) = ((a.x + a.w).round(), (a.y + a.h).round());
            let corners = [(left, upper), (right, upper), (right, lower), (left, lower)];
            canvas.fill(&corners, *fill);
        }
        Mark::Field { area, across, cell } => canvas.field(whole(*area), *across, cell),
        Mark::Polygon(points, fill) => {
            let points: Vec<(f32, f32)> = points.iter().map(|p| larger(*p)).collect();
            canvas.fill(&points, *fill);
        }
        Mark::Line {
            points,
            width,
            colour,
        } => {
            let points: Vec<(f32, f32)> = points.iter().map(|p| larger(*p)).collect();
            canvas.line(&points, width * scale, *colour);
        }
        Mark::Dot {
            at,
            radius,
            fill,
            outline,
        } => {
            canvas.circle(larger(*at), (radius + 0.35) * scale, *outline);
            canvas.circle(larger(*at), (radius - 0.35) * scale, *fill);
        }
        Mark::Text {
            at,
            size,
            anchor,
            upwards,
            text,
        } => canvas.text(font, larger(*at), size * scale, *anchor, *upwards, text),
    }
}

/// A field alone as PNG, one pixel a cell; `None` is transparent.
pub(super) fn field_png(across: usize, cell: &[Option<Rgb>]) -> Result<Vec<u8>, PictureError> {
    let down = cell.len() / across.max(1);
    let bytes: Vec<u8> = cell
        .iter()
        .flat_map(|c| c.map_or([0, 0, 0, 0], |[r, g, b]| [r, g, b, 255]))
        .collect();
    packed(across, down, png::ColorType::Rgba, &bytes)
}

/// Packed with the filters that suit most pictures, or with none, which suits flat colours: whichever is smaller.
fn packed(across: usize, down: usize, colour: png::ColorType, bytes: &[u8]) -> Result<Vec<u8>, PictureError> {
    let with = |filter: png::Filter| -> Result<Vec<u8>, PictureError> {
        let mut found = Vec::new();
        let mut encoder = png::Encoder::new(&mut found, across as u32, down as u32);
        encoder.set_color(colour);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::High);
        encoder.set_filter(filter);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(bytes)?;
        writer.finish()?;
        Ok(found)
    };
    let (filtered, plain) = (with(png::Filter::Adaptive)?, with(png::Filter::NoFilter)?);
    Ok(if plain.len() < filtered.len() {
        plain
    } else {
        filtered
    })
}
