//! The four edges of a target window.

/// One edge of a target window. The order is that of columns and answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Edge {
    /// The least preload.
    PreloadMin,
    /// The most preload.
    PreloadMax,
    /// The least wear reserve.
    ReserveMin,
    /// The most wear reserve.
    ReserveMax,
}

impl Edge {
    /// All four.
    pub const ALL: [Self; 4] =
        [Self::PreloadMin, Self::PreloadMax, Self::ReserveMin, Self::ReserveMax];

    /// Its key in columns, settings and JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::PreloadMin => "preload_min",
            Self::PreloadMax => "preload_max",
            Self::ReserveMin => "reserve_min",
            Self::ReserveMax => "reserve_max",
        }
    }

    /// The edge of this key.
    pub fn named(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|edge| edge.key() == key)
    }

    /// Whether it bounds the preload; the wear reserve otherwise.
    pub const fn is_preload(self) -> bool {
        matches!(self, Self::PreloadMin | Self::PreloadMax)
    }

    /// Whether it is a least value; a most value otherwise.
    pub const fn is_least(self) -> bool {
        matches!(self, Self::PreloadMin | Self::ReserveMin)
    }

    /// Whether a stack that misses it is too loose: the fingers hardly reach. Too tight otherwise:
    /// they push the bearing too far back.
    pub const fn is_missed_when_loose(self) -> bool {
        matches!(self, Self::PreloadMin | Self::ReserveMax)
    }
}

/// Something for each of the four edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PerEdge<T>([T; 4]);

impl<T> PerEdge<T> {
    /// What `of` says of each edge.
    pub fn from_fn(of: impl FnMut(Edge) -> T) -> Self {
        Self(Edge::ALL.map(of))
    }

    /// Each edge with what belongs to it.
    pub fn iter(&self) -> impl Iterator<Item = (Edge, &T)> {
        Edge::ALL.into_iter().zip(&self.0)
    }
}

impl<T> PerEdge<Option<T>> {
    /// The edges that are set, each with what belongs to it.
    pub fn set(&self) -> impl Iterator<Item = (Edge, &T)> {
        self.iter().filter_map(|(edge, held)| held.as_ref().map(|held| (edge, held)))
    }
}

impl<T> std::ops::Index<Edge> for PerEdge<T> {
    type Output = T;
    fn index(&self, edge: Edge) -> &T {
        &self.0[edge as usize]
    }
}

impl<T> std::ops::IndexMut<Edge> for PerEdge<T> {
    fn index_mut(&mut self, edge: Edge) -> &mut T {
        &mut self.0[edge as usize]
    }
}
