//! How far a master cylinder moves the bearing.

use crate::model::length::Length;

/// The ring-shaped piston behind a master cylinder: volume in is volume out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hydraulics {
    /// The master cylinder's bore.
    pub bore: Length,
    /// The ring piston's outer diameter.
    pub outer: Length,
    /// The ring piston's inner diameter.
    pub inner: Length,
}

impl Hydraulics {
    fn areas(self) -> (i128, i128) {
        let square = |length: Length| i128::from(length.nm()) * i128::from(length.nm());
        (square(self.bore), square(self.outer) - square(self.inner))
    }

    /// The bearing's travel for a stroke of the master piston, without losses: the ring's area is
    /// that of its outer circle less its inner one.
    pub fn bearing_travel(self, stroke: Length) -> Length {
        let (master, ring) = self.areas();
        scaled(stroke, master, ring)
    }

    /// The master stroke that moves the bearing this far, without losses.
    pub fn master_stroke(self, travel: Length) -> Length {
        let (master, ring) = self.areas();
        scaled(travel, ring, master)
    }
}

fn scaled(length: Length, times: i128, over: i128) -> Length {
    if over <= 0 {
        return Length::ZERO;
    }
    let nm = i128::from(length.nm()).saturating_mul(times) / over;
    Length::from_nm(i64::try_from(nm).unwrap_or(i64::MAX))
}
