//! How far a master cylinder moves the bearing.

use crate::model::length::{LONGEST, Length};

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
    /// that of its outer circle less its inner one. None where it is longer than any length that is
    /// entered, as with bores that hardly differ.
    pub fn bearing_travel(self, stroke: Length) -> Option<Length> {
        let (master, ring) = self.areas();
        scaled(stroke, master, ring)
    }

    /// The master stroke that moves the bearing this far, without losses; none as above.
    pub fn master_stroke(self, travel: Length) -> Option<Length> {
        let (master, ring) = self.areas();
        scaled(travel, ring, master)
    }

    /// Whether a stroke of the master piston, of which `lost` per cent are lost, moves the bearing
    /// at least this far. Volumes are compared, so that nothing is divided or rounded.
    pub fn releases(self, stroke: Length, lost: i64, travel: Length) -> bool {
        let (master, ring) = self.areas();
        let kept = i128::from(100 - lost) * i128::from(stroke.nm());
        // At most 100 times the cube of 100 in: 1.7e30 cubic nanometres, far inside 128 bits.
        master * kept >= ring * i128::from(travel.nm()) * 100
    }
}

/// A length times one area over another.
fn scaled(length: Length, times: i128, over: i128) -> Option<Length> {
    let nm = (over > 0).then(|| i128::from(length.nm()) * times / over)?;
    i64::try_from(nm).ok().map(Length::from_nm).filter(|length| *length <= LONGEST)
}
