//! Seeded choices, and what texts are made of.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};

/// A generator that gives the same numbers in every run.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number from 0 to `below` - 1.
    pub(crate) fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from((self.0 >> 11) % below as u64).unwrap()
    }

    /// True once in `times`.
    pub(crate) fn once_in(&mut self, times: usize) -> bool {
        self.roll(times) == 0
    }

    pub(crate) fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.roll(from.len())]
    }

    pub(crate) fn one_of<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.roll(from.len())]
    }

    /// Bits of text, one behind the other.
    pub(crate) fn scraps(&mut self, most: usize) -> String {
        (0..=self.roll(most)).map(|_| self.pick(SCRAPS)).collect()
    }

    /// The text with a few of its characters taken out, doubled, or replaced by a scrap.
    pub(crate) fn mangled(&mut self, text: &str) -> String {
        let mut letters: Vec<String> = text.chars().map(String::from).collect();
        for _ in 0..=self.roll(4) {
            if letters.is_empty() {
                break;
            }
            let at = self.roll(letters.len());
            match self.roll(4) {
                0 => drop(letters.remove(at)),
                1 => letters.insert(at, letters[at].clone()),
                2 => letters[at] = self.pick(SCRAPS).into(),
                _ => letters.insert(at, self.pick(SCRAPS).into()),
            }
        }
        letters.concat()
    }

    /// A length as somebody may write it, mostly one that is taken.
    pub(crate) fn length(&mut self) -> String {
        let number = match self.roll(8) {
            0 => format!("{}", self.roll(200)),
            1 => format!("{}-{}/{}", self.roll(9), self.roll(70), self.roll(65)),
            2 => format!("{}/{}", self.roll(70), self.roll(65)),
            3 => format!("-{}.{}", self.roll(100), self.roll(1000)),
            _ => format!("{}.{:03}", self.roll(4), self.roll(1000)),
        };
        if self.once_in(12) {
            return self.pick(EXTREMES).into();
        }
        let unit = self.pick(&["in", "mm", "\"", " in", " mm", " thou", ""]);
        format!("{number}{unit}")
    }
}

const EXTREMES: &[&str] = &[
    "100 in",
    "-100 in",
    "2540 mm",
    "0.000001 mm",
    "-0.000001 mm",
    "0 in",
    "99.99999 in",
    "50 in",
    "1/99999999 in",
];

const SCRAPS: &[&str] = &[
    "0",
    "1",
    "2",
    "7",
    "9",
    "25.4",
    "100",
    "0.000001",
    "99999999999999999999",
    "1e9",
    "NaN",
    "inf",
    ".",
    ",",
    "/",
    "-",
    "+",
    "\u{2212}",
    "\u{b1}",
    "+-",
    " ",
    "\t",
    "\u{a0}",
    "|",
    "#",
    "*",
    "=",
    "%",
    "in",
    "mm",
    "thou",
    "\"",
    "''",
    "\u{2033}",
    "\u{201d}",
    "\u{bd}",
    "\u{bc}",
    "\u{215b}",
    "\u{2044}",
    "proud",
    "recessed",
    "flush",
    "sunk",
    "below",
    "over",
    "$",
    "EUR",
    "USD",
    "N m",
    "yes",
    "none",
    "\n",
    "\r",
    "\r\n",
    ";",
    "\0",
    "\u{1b}[2J",
    "\u{202e}",
    "\u{9b}",
    "\u{feff}",
    "\u{1f527}",
    "e\u{301}",
    "\u{ff11}",
    "a",
    "Z",
    "'",
    "\\",
    "\"\"",
    "up to",
    "to",
];

/// A number for a text, to name a file by.
pub(crate) fn hash(text: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    hasher.finish()
}
