//! The front half: crank flange, flywheel, disc, plate and finger tips.

use super::{Chosen, Face, StandIn};
use crate::model::length::Length;
use crate::stack::fit::Fit;
use crate::stack::window::clamped;

/// From the crank flange to the finger tips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Front {
    /// The crank's flange.
    pub flange: Face,
    /// The flywheel's friction face.
    pub friction: Face,
    /// The cover's mounting face.
    pub cover: Face,
    /// The pressure plate's friction face: the rear of the clamped disc or pack.
    pub pressed: Face,
    /// The finger tips, exactly where the sum has them.
    pub fingers: Length,
    /// The pilot bearing: its front and its rear, where both are known.
    pub pilot: Option<(Length, Length)>,
    /// The front of the disc's hub, where it is known.
    pub hub: Option<Length>,
    /// The matched set's pack stands in the disc's place.
    pub has_pack: bool,
}

impl Front {
    pub(super) fn of(stack: &Chosen<'_, '_>, fit: &Fit<'_>) -> Self {
        let fingers = fit.lengths.finger.form.value();
        let thickness = stack.thickness("flywheel").filter(|_| stack.part("flywheel").is_some());
        // Blank is flat on a flywheel of the library; of one on the bench nothing is known.
        let step = stack
            .part("flywheel")
            .map(|flywheel| flywheel.length("cover_step").unwrap_or(Length::ZERO));
        let height = stack.length("pressure_plate", "finger_height");
        let flange = flange(fit, fingers, thickness.zip(step).zip(height));
        // Half way to the finger tips stands something like a friction face, however much room is.
        let half = Length::from_nm((fingers - flange.at).nm() / 5 * 2);
        let about = if half > Length::ZERO { half } else { StandIn::FLYWHEEL };
        let friction = flange.off(thickness, about);
        let cover = friction.off(step, Length::ZERO);
        let pack = stack.length("pressure_plate", "pack_thickness");
        let disc = stack.part("disc").and_then(clamped);
        let pressed = friction.off(pack.or(disc), StandIn::DISC);
        let hub = stack.length("disc", "hub_front").filter(|_| friction.known);
        Self {
            flange,
            friction,
            cover,
            pressed,
            fingers,
            pilot: pilot(stack, flange),
            hub: hub.map(|front| friction.at - front),
            has_pack: pack.is_some(),
        }
    }
}

/// The crank flange: as read or listed; else as far before the finger tips as the clutch is long.
fn flange(fit: &Fit<'_>, fingers: Length, clutch: Option<((Length, Length), Length)>) -> Face {
    if let Some(at) = fit.lengths.crank {
        return Face::known(at);
    }
    let clutch = clutch.map(|((thickness, step), height)| thickness + step + height);
    Face::guessed(clutch.map_or(Length::ZERO, |clutch| fingers - clutch))
}

/// The pilot bearing in the crank's end.
fn pilot(stack: &Chosen<'_, '_>, flange: Face) -> Option<(Length, Length)> {
    let recess = stack.length("engine", "pilot_recess")?;
    let length = stack.length("engine", "pilot_length")?;
    let rear = flange.at - recess;
    flange.known.then_some((rear - length, rear))
}
