//! The device itself: the unit, who writes, and letting another one in.

use maud::{Markup, html};

use crate::error::{Error, Result};
use crate::model::length::Unit;
use crate::report::html::{text, words};
use crate::serve::form::own;
use crate::serve::pairing::{Address, squares};
use crate::serve::shell::token;
use crate::serve::visit::{Reply, Visit};

/// The longest name of who writes.
const LONGEST: usize = 60;

/// The one button that redeems a code.
pub(in crate::serve) fn knock(code: &str) -> Markup {
    html! {
        h1 { "Let this device in" }
        p { (words("It then sees and changes the shop's catalog until `bellstack serve` ends. The code works once.")) }
        form method="post" action="/in" {
            input type="hidden" name="code" value=(code);
            button.main { "Let this device in" }
        }
    }
}

/// Who writes on this device, and the way in for another one.
pub(super) fn page(visit: &Visit) -> Result<Reply> {
    Reply::page("Devices", body(visit, None))
}

fn body(visit: &Visit, invited: Option<&[Address]>) -> Markup {
    html! {
        h1 { "Devices" }
        section {
            h2 { "This device" }
            form method="post" action="/who" {
                (token(visit))
                label.field {
                    span { "Who writes" }
                    input type="text" name="by" autocomplete="name" maxlength=(LONGEST) value=(visit.device.by);
                    small { "goes on record with every change made on this device" }
                }
                button { "Remember" }
            }
        }
        section {
            h2 { "Another device" }
            p { (visit.devices.count()) " in. " (words("All of them are out again when `bellstack serve` ends.")) }
            @if let Some(addresses) = invited {
                @for address in addresses { (invitation(address)) }
            } @else {
                form method="post" action="/invite" { (token(visit)) button { "Let another device in" } }
            }
        }
    }
}

fn invitation(address: &Address) -> Markup {
    let place = if address.lan { "in the shop's network" } else { "on this machine alone" };
    html! {
        div.invitation {
            p { "Open this address " (place) ". It lets one device in, once." }
            p.address { (text(&address.url)) }
            @if address.lan && let Some((width, dark)) = squares(&address.url) {
                (drawn(width, &dark))
            }
        }
    }
}

/// A QR code with the light margin that cameras want.
fn drawn(width: usize, dark: &[bool]) -> Markup {
    let rows = dark.chunks(width).enumerate();
    let squares = rows.flat_map(|(y, row)| {
        let dark = row.iter().enumerate().filter(|(_, dark)| **dark);
        dark.map(move |(x, _)| format!("M{} {}h1v1h-1z", x + 4, y + 4))
    });
    let path: String = squares.collect();
    let size = width + 8;
    html! {
        svg.qr viewBox=(format!("0 0 {size} {size}")) role="img" aria-label="The address as a QR code" {
            rect width=(size) height=(size) fill="#ffffff" {}
            path d=(path) fill="#000000" {}
        }
    }
}

/// Shows lengths in the other unit from now on.
pub(super) fn unit(visit: &Visit) -> Result<Reply> {
    let unit = match visit.form.text("unit") {
        "in" => Unit::In,
        "mm" => Unit::Mm,
        other => {
            return Err(Error::input(format!("`{other}` is no unit")).hint("write `in` or `mm`"));
        }
    };
    visit.devices.change(&visit.device.key, |device| device.unit = unit);
    Ok(Reply::Go(own(visit.form.text("back")).into()))
}

/// Remembers who writes.
pub(super) fn who(visit: &Visit) -> Result<Reply> {
    let by: String = visit.form.text("by").chars().take(LONGEST).collect();
    visit.devices.change(&visit.device.key, |device| device.by = by);
    Ok(Reply::Go("/devices".into()))
}

/// An address for the next device.
pub(super) fn invite(visit: &Visit) -> Result<Reply> {
    let addresses = visit.devices.invite()?;
    Reply::page("Devices", body(visit, Some(&addresses)))
}
