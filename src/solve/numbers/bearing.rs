//! The bearing side: where a bearing's contact face stands at both ends of its travel, with spacers
//! and shims left open.

use crate::solve::numbers::sum::{Sum, Terms, dims};
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::form::{Dim, Form};
use crate::stack::grade::Grade;
use crate::stack::lengths::Origins;
use crate::stack::lengths::sums::Sums;
use crate::stack::lengths::times::either_end;

/// A bearing in its bell housing and on its gearbox, from behind the block plate, but for what spacers
/// and shims add by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Ends {
    pub(crate) extended: Sum,
    pub(crate) retracted: Sum,
    /// The best grade that cross-checks allow.
    pub(crate) cap: Grade,
}

impl Ends {
    #[allow(clippy::option_option, reason = "each none says something of its own")]
    /// Reads the route that is used off the reference's forms; the inner none where no route works, the
    /// outer where a form is of no kind that numbers can follow.
    pub(crate) fn read<'a>(
        setup: &Setup<'a>,
        choice: &Choice<'a>,
        open: &[Form<'a>],
    ) -> Option<Option<Self>> {
        let sums = Sums { setup, choice, as_it_stands: false };
        let mut best: Option<(i128, Self)> = None;
        for route in sums.bearing_routes().into_iter().flatten() {
            let extended = without(&route.extended, open)?;
            let retracted = without(&route.retracted, open)?;
            let u = extended.spread.three_u_squared + retracted.spread.three_u_squared;
            if best.as_ref().is_some_and(|(known, _)| u >= *known) {
                continue;
            }
            let origins = Origins { finger: None, bearing: Some(route.from) };
            let cap = setup.cross_checks().cap(setup, choice, origins).unwrap_or(Grade::Sure);
            best = Some((u, Self { extended, retracted, cap }));
        }
        Some(best.map(|(_, ends)| ends))
    }
}

/// What a spacer or shim that is open adds to both ends.
pub(crate) fn open_terms<'a>(
    terms: &Terms<'_, 'a>,
    slot: usize,
    fill: &Fill<'a>,
    may_stay: bool,
) -> Option<Form<'a>> {
    if may_stay {
        return terms.not_fitted(slot, fill, either_end);
    }
    let form = terms.of(slot, fill, either_end);
    form.unknown.is_empty().then_some(form)
}

/// A form less what is open, which has to be all in it and just as often as it is in itself.
fn without(form: &Form<'_>, open: &[Form<'_>]) -> Option<Sum> {
    let mut left = form.clone();
    for own in open {
        for (item, times) in &own.linear {
            let at = left.linear.iter().position(|one| *one == (*item, *times))?;
            left.linear.remove(at);
        }
    }
    let open_dims: Vec<Dim<'_>> = open.iter().flat_map(dims).collect();
    let mixed = left.products.iter().flat_map(|product| &product.gap);
    let none = left.linear.iter().chain(mixed).all(|(item, _)| !open_dims.contains(&item.dim));
    none.then(|| Sum::of(&left))
}
