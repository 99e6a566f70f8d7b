//! What a drawing is made of: texts whose widths are known, lines, shapes and hatchings.

use maud::{Markup, PreEscaped, html};

use crate::report::page::words;
use crate::report::visible::in_line;

/// Advance widths of the printable ASCII characters in thousandths of the type size, plain and bold:
/// those of Liberation Sans 2.00, which are Arial's. Every text carries its width with it, so that a
/// reader with another typeface squeezes or stretches it into the same place.
const PLAIN: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];
const BOLD: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
];

/// The typefaces that are asked for, the first that is there.
const FACES: &str = "'Liberation Sans', Arial, Helvetica, 'DejaVu Sans', sans-serif";

/// The size and weight of a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::report) struct Type {
    pub(in crate::report) size: f64,
    pub(in crate::report) bold: bool,
}

/// What most texts of a drawing are set in.
pub(super) const TEXT: Type = Type { size: 12.5, bold: false };
/// What names are set in.
pub(super) const NAME: Type = Type { size: 12.5, bold: true };
/// What explains the signs.
pub(super) const SMALL: Type = Type { size: 11.0, bold: false };

impl Type {
    /// How far apart two lines stand.
    pub(super) fn line(self) -> f64 {
        self.size * 1.16
    }

    /// How wide a text is.
    pub(super) fn width(self, text: &str) -> f64 {
        let table = if self.bold { &BOLD } else { &PLAIN };
        let advance = |c: char| match u32::from(c) {
            code @ 32..=126 => table.get(code as usize - 32).copied().unwrap_or(600),
            0xb1 | 0xd7 => 584,
            0xa0..=0x2ff => 667,
            _ => 1000,
        };
        text.chars().map(|c| f64::from(advance(c))).sum::<f64>() * self.size / 1000.0
    }

    /// A text that is no wider than `most`; what is cut off is marked.
    pub(super) fn fit(self, text: &str, most: f64) -> String {
        if self.width(text) <= most {
            return text.into();
        }
        let mut kept = String::new();
        for c in text.chars() {
            kept.push(c);
            if self.width(&kept) + self.width("\u{2026}") > most {
                kept.pop();
                break;
            }
        }
        format!("{}\u{2026}", kept.trim_end())
    }

    /// A text in lines that are no wider than `most`.
    pub(in crate::report) fn wrap(self, text: &str, most: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in &words(text) {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match longer.filter(|longer| self.width(longer) <= most) {
                Some(longer) => {
                    lines.pop();
                    lines.push(longer);
                }
                None => lines.push(self.fit(word.trim(), most)),
            }
        }
        lines
    }
}

/// Text as XML may hold it: what a reader would obey or not see is written out, and what is no
/// character there is shown as unknown.
pub(in crate::report) fn clean(text: &str) -> String {
    in_line(text).replace(['\u{fffe}', '\u{ffff}'], "\u{fffd}")
}

/// Where a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Begins,
    Middle,
    Ends,
}

/// A number in a drawing.
pub(super) fn n(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// How a shape is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ShapeFill {
    None,
    /// A light tint without hatching.
    Tint,
    /// Nearly solid: what is too thin to be hatched.
    Solid,
    /// One of the hatchings.
    Hatch(Hatch),
}

/// The hatchings: neighbours have others, so that they stay apart in grey print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hatch {
    Rising,
    RisingWide,
    RisingFine,
    Falling,
    FallingWide,
    FallingFine,
    Crossed,
    Level,
}

impl Hatch {
    const ALL: [(Self, &'static str, i32, i32); 8] = [
        (Self::Rising, "rising", 45, 6),
        (Self::RisingWide, "rising-wide", 45, 10),
        (Self::RisingFine, "rising-fine", 45, 4),
        (Self::Falling, "falling", 135, 6),
        (Self::FallingWide, "falling-wide", 135, 10),
        (Self::FallingFine, "falling-fine", 135, 4),
        (Self::Crossed, "crossed", 45, 5),
        (Self::Level, "level", 90, 5),
    ];

    fn name(self) -> &'static str {
        Self::ALL.iter().find(|(hatch, ..)| *hatch == self).map_or("", |(_, name, ..)| name)
    }
}

/// The colour of what a change touches.
const CHANGED: &str = "#b3501c";
/// The colour of the bearing and of its numbers.
const BEARING: &str = "#1d6f8f";

/// A line's look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    pub(super) colour: &'static str,
    pub(super) width: f64,
    pub(super) dash: &'static str,
    pub(super) opacity: f64,
}

impl Stroke {
    const INK: Self = Self { colour: "currentColor", width: 1.2, dash: "", opacity: 1.0 };
    pub(super) const OUTLINE: Self = Self::INK;
    pub(super) const CHANGED: Self = Self { colour: CHANGED, width: 2.8, ..Self::INK };
    pub(super) const TODAY: Self = Self { colour: CHANGED, width: 1.5, dash: "6 3", ..Self::INK };
    pub(super) const LEADER: Self = Self { width: 0.7, opacity: 0.75, ..Self::INK };
    pub(super) const WITNESS: Self = Self { width: 0.7, dash: "1.5 3", opacity: 0.7, ..Self::INK };
    pub(super) const AXIS: Self = Self { width: 0.8, dash: "18 4 3 4", ..Self::INK };
    pub(super) const BEARING: Self = Self { colour: BEARING, width: 1.6, ..Self::INK };
    pub(super) const END: Self = Self { colour: BEARING, width: 1.2, dash: "3 2.5", ..Self::INK };
    pub(super) const MEASURED: Self = Self { width: 2.6, ..Self::INK };
    pub(super) const CATALOGUED: Self = Self { width: 1.1, ..Self::INK };
    pub(super) const ASSUMED: Self = Self { width: 1.1, dash: "5 3", ..Self::INK };
    pub(super) const RESULT: Self = Self { colour: BEARING, width: 3.4, ..Self::INK };
}

/// A sheet of drawing paper that is filled element by element.
#[derive(Debug)]
pub(super) struct Canvas {
    body: String,
    /// Begins the name of everything that other elements refer to, so that drawings on one page do
    /// not take each other's.
    id: String,
}

impl Canvas {
    pub(super) fn new(id: &str) -> Self {
        Self { body: String::new(), id: id.into() }
    }

    fn put(&mut self, markup: Markup) {
        self.body.push_str(&markup.into_string());
        self.body.push('\n');
    }

    fn fill(&self, fill: ShapeFill) -> (String, &'static str) {
        match fill {
            ShapeFill::None => ("none".into(), "1"),
            ShapeFill::Tint => ("currentColor".into(), "0.08"),
            ShapeFill::Solid => ("currentColor".into(), "0.8"),
            ShapeFill::Hatch(hatch) => (format!("url(#{}-{})", self.id, hatch.name()), "1"),
        }
    }

    /// A shape with an outline.
    pub(super) fn shape(&mut self, points: &[(f64, f64)], fill: ShapeFill, stroke: Stroke) {
        self.path(points, true, fill, stroke);
    }

    /// Lines from point to point.
    pub(super) fn lines(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        self.path(points, false, ShapeFill::None, stroke);
    }

    fn path(&mut self, points: &[(f64, f64)], closed: bool, fill: ShapeFill, stroke: Stroke) {
        let point = |(index, (x, y)): (usize, &(f64, f64))| {
            format!("{}{} {}", if index == 0 { "M" } else { "L" }, n(*x), n(*y))
        };
        let mut d: String = points.iter().enumerate().map(point).collect();
        if closed {
            d.push('Z');
        }
        let (fill, opacity) = self.fill(fill);
        let Stroke { colour, width, dash, opacity: faint } = stroke;
        self.put(html! {
            path d=(d) fill=(fill) fill-opacity=(opacity) stroke=(colour) stroke-width=(n(width))
                stroke-linejoin="round" stroke-dasharray=[(!dash.is_empty()).then_some(dash)]
                stroke-opacity=[(faint < 1.0).then(|| n(faint))] {}
        });
    }

    /// A shape filled with the colour of its line.
    pub(super) fn filled(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        let point = |(index, (x, y)): (usize, &(f64, f64))| {
            format!("{}{} {}", if index == 0 { "M" } else { "L" }, n(*x), n(*y))
        };
        let d: String = points.iter().enumerate().map(point).collect();
        self.put(html! { path d=(format!("{d}Z")) fill=(stroke.colour) {} });
    }

    /// A dot.
    pub(super) fn dot(&mut self, at: (f64, f64), radius: f64, stroke: Stroke) {
        self.put(html! {
            circle cx=(n(at.0)) cy=(n(at.1)) r=(n(radius)) fill=(stroke.colour) {}
        });
    }

    /// A face along the axis: a line that carries its own position with it.
    pub(super) fn face(
        &mut self,
        name: &str,
        nm: i64,
        from: (f64, f64),
        to: (f64, f64),
        look: Stroke,
    ) {
        let Stroke { colour, width, dash, opacity } = look;
        self.put(html! {
            line data-face=(name) data-nm=(nm) x1=(n(from.0)) y1=(n(from.1)) x2=(n(to.0)) y2=(n(to.1))
                stroke=(colour) stroke-width=(n(width)) stroke-opacity=(n(opacity))
                stroke-dasharray=[(!dash.is_empty()).then_some(dash)] {}
        });
    }

    /// A line of text with its foot at `at`.
    pub(super) fn text(&mut self, text: &str, at: (f64, f64), stand: Anchor, set: Type) {
        if text.is_empty() {
            return;
        }
        let anchor = match stand {
            Anchor::Begins => None,
            Anchor::Middle => Some("middle"),
            Anchor::Ends => Some("end"),
        };
        let width = n(set.width(text));
        self.put(html! {
            text x=(n(at.0)) y=(n(at.1)) font-size=(n(set.size))
                font-weight=[set.bold.then_some("bold")] text-anchor=[anchor]
                textLength=(width) lengthAdjust="spacingAndGlyphs" { (text) }
        });
    }

    /// What belongs together, with a name for whoever has it read aloud.
    pub(super) fn group(&mut self, name: &str, draw: impl FnOnce(&mut Self)) {
        let mut inner = Self::new(&self.id);
        draw(&mut inner);
        self.put(html! {
            g role="group" aria-label=(name) { (PreEscaped(inner.body)) }
        });
    }

    /// Whether something is filled with this hatching.
    fn uses(&self, hatch: &str) -> bool {
        self.body.contains(&format!("url(#{}-{hatch})", self.id))
    }

    /// The finished drawing. `scale` is what a reader of the file needs to get lengths out of it: the
    /// place of zero, and how many units are one millimetre.
    pub(super) fn finish(self, about: &Caption<'_>) -> Markup {
        let (title, more) = (format!("{}-title", self.id), format!("{}-more", self.id));
        let (width, height) = about.size;
        let view = format!("0 0 {} {}", n(width), n(height));
        html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(view) width=[about.alone.then(|| n(width))]
                height=[about.alone.then(|| n(height))]
                role="img" aria-labelledby=(format!("{title} {more}")) color="#14181c"
                font-family=(FACES) data-zero=[about.scale.map(|(zero, _)| n(zero))]
                data-units-per-mm=[about.scale.map(|(_, per_mm)| format!("{per_mm:.6}"))] {
                title id=(title) { (about.title) }
                desc id=(more) { (about.more) }
                defs {
                    @for (_, name, turn, apart) in Hatch::ALL.into_iter().filter(|one| self.uses(one.1)) {
                        pattern id=(format!("{}-{name}", self.id)) patternUnits="userSpaceOnUse"
                            width=(apart) height=(apart) patternTransform=(format!("rotate({turn})")) {
                            line x1="0" y1="0" x2="0" y2=(apart) stroke="currentColor"
                                stroke-width="1.1" stroke-opacity="0.55" {}
                            @if name == "crossed" {
                                line x1="0" y1="0" x2=(apart) y2="0" stroke="currentColor"
                                    stroke-width="1.1" stroke-opacity="0.55" {}
                            }
                        }
                    }
                }
                @if about.alone {
                    rect width=(n(width)) height=(n(height)) fill="#ffffff" {}
                }
                g fill="currentColor" { (PreEscaped(self.body)) }
            }
        }
    }
}

/// What is said about a drawing as a whole.
#[derive(Debug)]
pub(super) struct Caption<'t> {
    pub(super) title: &'t str,
    pub(super) more: &'t str,
    pub(super) size: (f64, f64),
    /// A file of its own, with paper behind it; else part of a page.
    pub(super) alone: bool,
    /// The place of zero, and how many units are one millimetre.
    pub(super) scale: Option<(f64, f64)>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_other_colours_differ_in_grey_too() {
        let all = [
            Stroke::OUTLINE,
            Stroke::CHANGED,
            Stroke::TODAY,
            Stroke::LEADER,
            Stroke::WITNESS,
            Stroke::AXIS,
            Stroke::BEARING,
            Stroke::END,
            Stroke::MEASURED,
            Stroke::CATALOGUED,
            Stroke::ASSUMED,
            Stroke::RESULT,
        ];
        for (index, one) in all.iter().enumerate() {
            for other in all[index + 1..].iter().filter(|other| other.colour != one.colour) {
                assert!(
                    one.dash != other.dash || (one.width - other.width).abs() > 0.15,
                    "{one:?} {other:?}"
                );
            }
        }
        let hatches = Hatch::ALL.map(|(_, name, turn, apart)| (turn, apart, name == "crossed"));
        for (index, one) in hatches.iter().enumerate() {
            assert!(!hatches[index + 1..].contains(one), "{one:?}");
        }
    }

    #[test]
    fn a_text_is_cut_and_wrapped_to_a_width_and_keeps_numbers_with_their_units() {
        let long = TEXT.fit("A-VERY-LONG-PART-NUMBER-INDEED", 80.0);
        assert!(TEXT.width(&long) <= 80.0 && long.ends_with('\u{2026}'), "{long}");
        assert_eq!(TEXT.fit("FW-1", 80.0), "FW-1");
        let lines = TEXT.wrap("in place of FW-S1000, 0.100 in thinner", 120.0);
        assert!(lines.iter().all(|line| TEXT.width(line) <= 120.0), "{lines:?}");
        assert!(lines.iter().any(|line| line.contains("0.100 in")), "{lines:?}");
    }

    #[test]
    fn text_that_xml_cannot_hold_is_shown_as_unknown() {
        assert_eq!(clean("a\u{0}b\u{fffe}c\nd"), "a\\u0000b\u{fffd}c d");
    }
}
