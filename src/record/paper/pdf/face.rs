//! The faces a paper is set in, and how wide a text is in them.
//!
//! Libertinus Serif, which lies beside the program; where it lacks a sign, DejaVu Sans Mono; where that does too, a box.

use krilla::text::Font;

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// As usual.
    Plain,
    /// Heavier.
    Bold,
}

/// A font with what is needed to measure it.
pub struct Measured {
    font: Font,
    face: ttf_parser::Face<'static>,
}

/// All faces.
pub struct Faces {
    plain: Measured,
    bold: Measured,
    other: Measured,
}

/// What stands for a sign that no font has.
const BOX: char = '\u{25a1}';

impl Faces {
    /// Finds the fonts by their names among those built in.
    pub fn load() -> Self {
        let named = |wanted: &str| {
            typst_assets::fonts()
                .find_map(|data| Measured::named(data, wanted))
                .expect("the fonts are built in")
        };
        Self {
            plain: named("LibertinusSerif-Regular"),
            bold: named("LibertinusSerif-Semibold"),
            other: named("DejaVuSansMono"),
        }
    }

    /// The text in pieces, each with the font that has its signs; what would act on the text is left out.
    pub fn runs(&self, text: &str, face: Face) -> Vec<(&Measured, String)> {
        let first = if face == Face::Bold { &self.bold } else { &self.plain };
        let mut runs: Vec<(&Measured, String)> = Vec::new();
        for sign in text.chars().filter(|sign| !acts(*sign)) {
            let (font, sign) = match sign {
                sign if first.has(sign) => (first, sign),
                sign if self.other.has(sign) => (&self.other, sign),
                _ => (&self.other, BOX),
            };
            match runs.last_mut() {
                Some((last, run)) if std::ptr::eq(*last, font) => run.push(sign),
                _ => runs.push((font, sign.to_string())),
            }
        }
        runs
    }

    /// How wide a text is, in points.
    pub fn width(&self, text: &str, face: Face, size: f32) -> f32 {
        self.runs(text, face).iter().map(|(font, run)| font.width(run, size)).sum()
    }
}

impl Measured {
    fn named(data: &'static [u8], wanted: &str) -> Option<Self> {
        let face = ttf_parser::Face::parse(data, 0).ok()?;
        let is_it = face.names().into_iter().any(|name| {
            name.name_id == ttf_parser::name_id::POST_SCRIPT_NAME
                && name.to_string().as_deref() == Some(wanted)
        });
        if !is_it {
            return None;
        }
        Some(Self { font: Font::new(data.into(), 0)?, face })
    }

    /// For the page.
    pub fn font(&self) -> Font {
        self.font.clone()
    }

    /// How wide a text is, in points; pairs are not drawn together, so it is at most a little less.
    pub fn width(&self, text: &str, size: f32) -> f32 {
        let advance = |sign| {
            let glyph = self.face.glyph_index(sign).unwrap_or(ttf_parser::GlyphId(0));
            f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0))
        };
        text.chars().map(advance).sum::<f32>() * size / f32::from(self.face.units_per_em())
    }

    fn has(&self, sign: char) -> bool {
        self.face.glyph_index(sign).is_some()
    }
}

/// Signs that would turn the writing round, or that are no signs at all.
fn acts(sign: char) -> bool {
    sign.is_control()
        || matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}
