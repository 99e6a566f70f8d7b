//! The rear half: bell housing, gearbox, seat, shims and the bearing.

use super::{Chosen, Face, StandIn};
use crate::model::length::Length;
use crate::stack::fit::Fit;

/// From the bell housing's engine face to the bearing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rear {
    /// The bell housing's engine face.
    pub bell: Face,
    /// The bell housing's gearbox face.
    pub bell_rear: Face,
    /// The gearbox's face.
    pub gearbox: Face,
    /// The seat that the bearing or its shims stand on.
    pub seat: Face,
    /// The bearing's own foot, before its shims.
    pub base: Face,
    /// The contact face extended, exactly where the sum has it.
    pub extended: Length,
    /// The contact face bottomed, exactly where the sum has it.
    pub retracted: Length,
    /// Where the contact face stands: at the fingers, or at the end of the travel that they pass.
    pub stands: Length,
    /// The tip of the input shaft, where its length and what it is counted from are known.
    pub tip: Option<Length>,
}

impl Rear {
    pub(super) fn of(stack: &Chosen<'_, '_>, fit: &Fit<'_>) -> Self {
        let extended = fit.lengths.bearing.extended.value();
        let retracted = fit.lengths.bearing.retracted.value();
        let bell = Face::known(Length::ZERO).off(stack.thickness("bell_spacer"), StandIn::SPACER);
        let depth = stack.length("bell_housing", "depth");
        let spacer = stack.thickness("gearbox_spacer");
        let shims = stack.thickness("bearing_shim");
        let seat_height = stack.length("gearbox", "seat_height");
        let height = |key: &str| stack.length("bearing", key);
        let foot = height("extended_height").map(|height| extended + height);
        let foot = foot.or_else(|| height("retracted_height").map(|height| retracted + height));
        let ahead = depth.zip(spacer).map(|(depth, spacer)| bell.at + depth + spacer);
        let ahead = ahead.filter(|_| bell.known);
        // The bearing stands where the sum puts it, and its seat behind it; only where nobody knows
        // how tall it is its seat is found from the gearbox.
        let seat = match (foot.zip(shims), ahead.zip(seat_height)) {
            (Some((foot, shims)), _) => Face::known(foot + shims),
            (None, Some((gearbox, seat_height))) => Face::known(gearbox - seat_height),
            (None, None) => {
                let foot = foot.unwrap_or(retracted + StandIn::BEARING);
                Face::guessed(foot + shims.unwrap_or(StandIn::SHIM))
            }
        };
        let base = match foot {
            Some(foot) => Face::known(foot),
            None => seat.off(shims.map(|shims| -shims), -StandIn::SHIM),
        };
        let gearbox = match ahead {
            Some(gearbox) => Face::known(gearbox),
            None => seat.off(seat_height, StandIn::SEAT),
        };
        let bell_rear = match depth {
            Some(depth) => bell.off(Some(depth), depth),
            None => gearbox.off(spacer.map(|spacer| -spacer), -StandIn::SPACER),
        };
        let shaft = stack.length("gearbox", "shaft_length").filter(|_| gearbox.known);
        let fingers = fit.lengths.finger.form.value();
        Self {
            bell,
            bell_rear,
            gearbox,
            seat,
            base,
            extended,
            retracted,
            stands: fingers.max(extended).min(retracted.max(extended)),
            tip: shaft.map(|shaft| gearbox.at - shaft),
        }
    }
}
