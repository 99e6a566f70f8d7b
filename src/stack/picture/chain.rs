//! The dimensions of a sum as arrows along the axis, each from where the last one ended.

use super::Face;
use crate::model::entry::Basis;
use crate::model::job::READINGS;
use crate::model::length::{Length, Ratio};
use crate::stack::caution::has_ratio;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::form::{Dim, Form, Item, Product, Source};
use crate::stack::terms::part_of;

/// What a value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rests {
    /// Read on the job, or on the piece itself.
    Measured,
    /// Stated in the catalogue, or predicted from pieces of the same number.
    Catalogued,
    /// Assumed, because nobody knows it.
    Assumed,
}

/// One dimension of the sum, as an arrow along the axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrow {
    /// The kind's key, or `job`.
    pub kind: &'static str,
    /// The dimension's key, or `ratio_correction`.
    pub key: &'static str,
    /// The part number; none for a reading of the job and for what is as on the bench.
    pub part: Option<String>,
    /// Where it begins, from behind the block plate.
    pub from: Length,
    /// Where it ends; before its beginning where the dimension is taken off.
    pub to: Length,
    /// What the value rests on.
    pub rests: Rests,
    /// For the ratio correction: the ratio, and the difference of gaps that it multiplies.
    pub product: Option<(Ratio, Length)>,
}

/// The sum along the axis: two chains from one zero, one to the finger tips and one to the bearing,
/// which forks where its two ends come by other dimensions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// Where both chains begin, from behind the block plate: the bare block's face, or the rear of a
    /// block plate that cancels.
    pub zero: Length,
    /// Whether that is the bare block's face.
    pub from_block: bool,
    /// From zero to the finger tips.
    pub fingers: Vec<Arrow>,
    /// From zero to where the bearing's two ends part.
    pub bearing: Vec<Arrow>,
    /// On to the contact face extended.
    pub extended: Vec<Arrow>,
    /// On to the contact face bottomed.
    pub retracted: Vec<Arrow>,
}

impl Chain {
    pub(super) fn of(setup: &Setup<'_>, fit: &Fit<'_>, block: Face) -> Self {
        let lengths = &fit.lengths;
        let mut forms = [
            lengths.finger.form.clone(),
            lengths.bearing.extended.clone(),
            lengths.bearing.retracted.clone(),
        ];
        let has_plate =
            setup.slot("block_plate").is_some_and(|slot| !fit.choice.fills[slot].is_empty());
        // A plate that cancels stands before both chains; one that does not is part of them.
        let plate = forms.iter().find_map(|form| plate_of(setup, fit, form));
        let zero = if plate.is_some() { block.at } else { Length::ZERO };
        if let Some(plate) = plate {
            for form in &mut forms {
                form.add(plate, 1);
            }
        }
        let [fingers, extended, retracted] = forms;
        let (common, extended, retracted) = forked(extended, retracted);
        let lay = |form: &Form<'_>, from: Length| arrows(setup, fit, form, from);
        let bearing = lay(&common, zero);
        let fork = bearing.last().map_or(zero, |arrow| arrow.to);
        Self {
            zero,
            from_block: plate.is_some() || !has_plate,
            fingers: lay(&fingers, zero),
            extended: lay(&extended, fork),
            retracted: lay(&retracted, fork),
            bearing,
        }
    }

    /// Every arrow.
    pub fn arrows(&self) -> impl Iterator<Item = &Arrow> {
        let rear = self.bearing.iter().chain(&self.extended).chain(&self.retracted);
        self.fingers.iter().chain(rear)
    }

    /// Every place that an arrow begins or ends at.
    pub(super) fn places(&self) -> impl Iterator<Item = Length> {
        let ends = self.arrows().flat_map(|arrow| [arrow.from, arrow.to]);
        ends.chain([self.zero])
    }
}

/// The chosen block plate's thickness, where a sum from behind it still has it.
fn plate_of<'a>(setup: &Setup<'_>, fit: &Fit<'_>, form: &Form<'a>) -> Option<Item<'a>> {
    let chosen = setup.part(&fit.choice, "block_plate")?;
    let is_chosen =
        |source: Source<'_>| matches!(source, Source::Part { id, .. } if id == chosen.id);
    let mut items = form.linear.iter().map(|(item, _)| item);
    items.find(|item| item.dim.kind == "block_plate" && is_chosen(item.dim.source)).copied()
}

/// What two sums share, and what each has beside it.
fn forked<'a>(first: Form<'a>, second: Form<'a>) -> (Form<'a>, Form<'a>, Form<'a>) {
    let mut common = Form::default();
    for (item, times) in &first.linear {
        if second.linear.iter().any(|(other, n)| other.dim == item.dim && n == times) {
            common.add(*item, *times);
        }
    }
    let (first, second) = (first.less(&common), second.less(&common));
    (common, first, second)
}

/// A sum as arrows that begin at `from`: readings first, then slot by slot, what is taken off before
/// what takes its place.
fn arrows(setup: &Setup<'_>, fit: &Fit<'_>, form: &Form<'_>, from: Length) -> Vec<Arrow> {
    let mut steps: Vec<((usize, i64), Arrow)> = Vec::new();
    for (item, times) in &form.linear {
        let by = Length::from_nm(item.value.nm() * times);
        // What is nothing is no arrow, such as the step of a flat flywheel; that a crank is flush is told.
        if by == Length::ZERO && item.dim.key != "crank_protrusion" {
            continue;
        }
        let rests = rests(item);
        steps.push((place(item.dim, *times), arrow(item.dim, by, rests, None)));
    }
    for product in form.products.iter().filter(|product| product.value() != Length::ZERO) {
        let dim =
            Dim { source: product.ratio.source, kind: "pressure_plate", key: "ratio_correction" };
        let (slot, _) = place(dim, 1);
        let told = Some((product.ratio.value, product.gap_value()));
        steps.push(((slot, 2), arrow(dim, product.value(), rests_of(setup, fit, product), told)));
    }
    steps.sort_by_key(|(place, _)| *place);
    let mut at = from;
    let mut laid = Vec::new();
    for (_, mut arrow) in steps {
        arrow.from = at;
        arrow.to = at + arrow.to;
        at = arrow.to;
        laid.push(arrow);
    }
    laid
}

fn arrow(dim: Dim<'_>, by: Length, rests: Rests, product: Option<(Ratio, Length)>) -> Arrow {
    let Dim { source, kind, key } = dim;
    Arrow { kind, key, part: part_of(source), from: Length::ZERO, to: by, rests, product }
}

/// A dimension's place in its chain.
fn place(dim: Dim<'_>, times: i64) -> (usize, i64) {
    match dim.source {
        Source::Job => {
            let reading = READINGS.iter().position(|spec| spec.key == dim.key);
            (0, reading.and_then(|at| i64::try_from(at).ok()).unwrap_or_default())
        }
        Source::Bench { slot } | Source::Part { slot, .. } => (slot + 1, times.signum()),
    }
}

fn rests(item: &Item<'_>) -> Rests {
    match item.dim.source {
        Source::Job if item.dim.key == "facing_loss" => Rests::Assumed,
        Source::Job => Rests::Measured,
        _ if matches!(item.known.basis, Basis::Measured { .. }) => Rests::Measured,
        _ => Rests::Catalogued,
    }
}

/// A product is assumed where its ratio or a gap in it is.
fn rests_of(setup: &Setup<'_>, fit: &Fit<'_>, product: &Product<'_>) -> Rests {
    let stated = has_ratio(setup, &fit.choice, product.ratio.source);
    let loss = product.gap.iter().any(|(item, _)| item.dim.key == "facing_loss");
    let assumed = !stated || loss || fit.lengths.finger.set_gap_assumed.is_some();
    if assumed { Rests::Assumed } else { Rests::Catalogued }
}
