//! The JSON objects of the contract with scripts, field by field.

use serde::Serialize as Derive;
use serde::ser::{Serialize, SerializeMap, Serializer};

use super::super::aside::AsideElsewhere;
use super::length::L;
use super::measuring::{Accept, MeasureNext, NextRow};

/// A map that keeps its order.
pub(in crate::report) struct Ordered<V, K = &'static str>(pub(in crate::report) Vec<(K, V)>);

impl<V: Serialize, K: Serialize> Serialize for Ordered<V, K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (key, value) in &self.0 {
            map.serialize_entry(key, value)?;
        }
        map.end()
    }
}

#[derive(Derive)]
#[serde(untagged)]
pub(super) enum InSlot<'a> {
    One(Option<&'a str>),
    Several(Vec<&'a str>),
}

#[derive(Derive)]
pub(super) struct WindowRow {
    pub(super) preload_min: Option<L>,
    pub(super) preload_max: Option<L>,
    pub(super) reserve_min: Option<L>,
    pub(super) reserve_max: Option<L>,
    pub(super) set_by: Ordered<&'static str>,
    pub(super) ratio_assumed: bool,
}

#[derive(Derive)]
pub(super) struct UncertaintyRow {
    pub(super) nm: f64,
}

#[derive(Derive)]
pub(super) struct AtEdge {
    pub(super) room: L,
    pub(super) worst_case: L,
    pub(super) u: UncertaintyRow,
}

#[derive(Derive)]
pub(super) struct ToBuyRow<'a> {
    pub(super) amount: String,
    pub(super) currency: &'a str,
    pub(super) unpriced: u32,
}

#[derive(Derive)]
pub(super) struct CheckRow {
    pub(super) check: &'static str,
    pub(super) result: &'static str,
    pub(super) note: String,
}

#[derive(Derive)]
pub(super) struct ChangeRow {
    pub(super) slot: &'static str,
    pub(super) from: Option<String>,
    pub(super) to: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) machine_to: Option<L>,
}

#[derive(Derive)]
pub(in crate::report) struct Stack<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) rank: Option<usize>,
    pub(super) grade: &'static str,
    pub(super) because: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) change: Option<Vec<ChangeRow>>,
    pub(super) parts: Ordered<InSlot<'a>>,
    pub(super) window: WindowRow,
    pub(super) preload: L,
    pub(super) reserve: L,
    pub(super) travel: L,
    pub(super) room: L,
    pub(super) edges: Ordered<AtEdge>,
    pub(super) chance: Option<f64>,
    pub(super) chance_if: Vec<&'static str>,
    pub(super) chance_unknown: Option<&'static str>,
    pub(super) as_on_bench: Vec<&'static str>,
    pub(super) cross_checks: Vec<CrossCheckRow<'a>>,
    pub(super) not_verified: u32,
    pub(super) to_buy: ToBuyRow<'a>,
    pub(super) changes: usize,
    pub(super) checks: Vec<CheckRow>,
    pub(super) cautions: Vec<String>,
    pub(super) next: Option<NextRow>,
    pub(super) wear: Option<L>,
    pub(super) wear_ratio_assumed: bool,
    pub(super) gearbox_move: Option<L>,
}

#[derive(Derive)]
pub(super) struct Lacking<'a> {
    pub(super) kind: &'static str,
    pub(super) id: Option<&'a str>,
    pub(super) needs: &'a [&'static str],
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    pub(super) needs_any: &'a [&'static str],
}

#[derive(Derive)]
pub(super) struct SlotRow {
    pub(super) slot: &'static str,
    pub(super) parts: usize,
    pub(super) removed: Ordered<usize>,
    pub(super) left: usize,
    pub(super) fills: usize,
}

#[derive(Derive)]
pub(super) struct Ranking<'a> {
    pub(super) job: &'a str,
    /// Null where it was not counted.
    pub(super) considered: Option<String>,
    pub(super) in_window: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) slots: Option<Vec<SlotRow>>,
    pub(super) left_out: Vec<Lacking<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) set_aside: Vec<AsideElsewhere<'a>>,
    pub(super) stacks: Vec<Stack<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) nearest: Option<Vec<Stack<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) forbidden_by: Option<String>,
}

#[derive(Derive)]
pub(super) struct TermRow<'a> {
    pub(super) dimension: &'a str,
    pub(super) part: &'a str,
    pub(super) value: L,
    pub(super) tol: L,
    pub(super) assumed: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) basis: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) readings: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) pieces: Option<usize>,
    pub(super) to_preload: f64,
    pub(super) to_reserve: f64,
    pub(super) adds: L,
    pub(super) adds_to_reserve: L,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) made_of: Vec<TermRow<'a>>,
}

#[derive(Derive)]
pub(super) struct CrossCheckRow<'a> {
    pub(super) length: &'a str,
    pub(super) first: &'a str,
    pub(super) second: &'a str,
    pub(super) first_value: L,
    pub(super) second_value: L,
    pub(super) difference: L,
    pub(super) agreement: &'static str,
    pub(super) slips: Vec<String>,
}

#[derive(Derive)]
pub(super) struct OneFit<'a> {
    pub(super) job: &'a str,
    #[serde(flatten)]
    pub(super) stack: Stack<'a>,
    pub(super) terms: Vec<TermRow<'a>>,
    pub(super) as_it_stands: Option<Stack<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) another: Option<Stack<'a>>,
    pub(super) measure_next: Option<MeasureNext>,
    pub(super) accept: Vec<Accept>,
}

#[derive(Derive)]
pub(super) struct Wrong {
    pub(super) is: &'static str,
    pub(super) edge: Option<&'static str>,
    pub(super) by: Option<L>,
    pub(super) wear: Option<L>,
    pub(super) sentence: String,
}

#[derive(Derive)]
pub(super) struct LookRow<'a> {
    pub(super) slot: &'static str,
    pub(super) dimension: &'static str,
    pub(super) from: Option<L>,
    pub(super) to: Option<L>,
    pub(super) fitted: Option<L>,
    pub(super) by: Ends,
    pub(super) in_catalog: Option<usize>,
    pub(super) parts: &'a [String],
}

/// Both ends of a range; an open end is none.
#[derive(Derive)]
pub(super) struct Ends {
    pub(super) from: Option<L>,
    pub(super) to: Option<L>,
}

#[derive(Derive)]
pub(super) struct Cured<'a> {
    pub(super) format: u32,
    pub(super) job: &'a str,
    pub(super) trouble: Wrong,
    pub(super) considered: Option<String>,
    pub(super) in_window: Option<String>,
    pub(super) left_out: Vec<Lacking<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) set_aside: Vec<AsideElsewhere<'a>>,
    pub(super) stacks: Vec<Stack<'a>>,
    pub(super) look_for: Vec<LookRow<'a>>,
    pub(super) forbidden_by: Option<String>,
    pub(super) now: Stack<'a>,
}
