//! What covers what on a page: whether each run of words can be seen on its ground.

/// An area from its lower left to its upper right corner, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub left: f32,
    pub bottom: f32,
    pub right: f32,
    pub top: f32,
}

impl Area {
    /// The area that holds some points.
    pub(super) fn around(points: &[(f32, f32)]) -> Option<Area> {
        let (x, y) = *points.first()?;
        let first = Area { left: x, bottom: y, right: x, top: y };
        Some(points.iter().fold(first, |a, (x, y)| Area {
            left: a.left.min(*x),
            bottom: a.bottom.min(*y),
            right: a.right.max(*x),
            top: a.top.max(*y),
        }))
    }

    fn grown(self, by: f32) -> Area {
        Area { left: self.left - by, bottom: self.bottom - by, right: self.right + by, top: self.top + by }
    }

    fn meets(self, other: Area) -> bool {
        self.left < other.right && other.left < self.right && self.bottom < other.top && other.bottom < self.top
    }

    /// Whether another area lies within, but for a hair.
    pub(super) fn holds(self, other: Area) -> bool {
        let a = self.grown(0.5);
        a.left <= other.left && other.right <= a.right && a.bottom <= other.bottom && other.top <= a.top
    }
}

/// A run of words as drawn.
#[derive(Debug, Clone)]
pub(super) struct Run {
    /// The value it belongs to; none for the template's own words.
    pub id: Option<String>,
    pub text: String,
    /// Where its first letter stands, and where the next would.
    pub left: f32,
    pub right: f32,
    pub baseline: f32,
    pub size: f32,
    pub white: bool,
}

impl Run {
    /// Where its letters have most of their ink: between the baseline and the height of an x.
    fn core(&self) -> Area {
        let (side, foot, head) = (0.03 * self.size, 0.03 * self.size, 0.48 * self.size);
        Area { left: self.left + side, bottom: self.baseline + foot, right: self.right - side, top: self.baseline + head }
    }

    /// The space it needs with its risers and tails.
    pub(super) fn space(&self) -> Area {
        Area { left: self.left, bottom: self.baseline - 0.22 * self.size, right: self.right, top: self.baseline + 0.75 * self.size }
    }

    /// Its id and its words.
    fn name(&self) -> String {
        self.id.as_ref().map_or_else(|| format!("{:?}", self.text), |id| format!("{id} {:?}", self.text))
    }

    fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// What is painted, in painting order.
#[derive(Debug, Default)]
pub(super) struct Ground {
    painted: Vec<(Area, bool)>,
    lines: Vec<Area>,
}

impl Ground {
    /// Notes a filled shape.
    pub(super) fn fill(&mut self, points: &[(f32, f32)], white: bool) {
        self.painted.extend(Area::around(points).map(|a| (a, white)));
    }

    /// Notes a drawn line.
    pub(super) fn stroke(&mut self, points: &[(f32, f32)], width: f32) {
        let lines = points.windows(2).filter_map(Area::around);
        self.lines.extend(lines.map(|a| a.grown(width / 2.0)));
    }

    /// Holds every run to be seen: within the sheet, on a ground of the other colour, no line through it, no other on it.
    pub(super) fn shows(&self, runs: &[Run], sheet: Area) -> Result<(), String> {
        let mut order: Vec<(Area, &Run)> = Vec::with_capacity(runs.len());
        for run in runs.iter().filter(|r| !r.is_blank()) {
            let (core, name) = (run.core(), || run.name());
            if !sheet.holds(run.space()) {
                return Err(format!("has words outside the sheet: {} at {}, {}", name(), run.left, run.baseline));
            }
            let under = self.painted.iter().rev().find(|(a, _)| a.meets(core));
            let black = match under {
                Some((area, white)) if area.holds(core) => !white,
                Some(_) => return Err(format!("has {} half on an area", name())),
                None => false,
            };
            if black != run.white {
                return Err(format!("has {} in the colour of its ground", name()));
            }
            if self.lines.iter().any(|l| l.meets(core)) {
                return Err(format!("has a line through {}", name()));
            }
            order.push((core, run));
        }
        order.sort_by(|a, b| a.0.bottom.total_cmp(&b.0.bottom));
        for (i, (core, run)) in order.iter().enumerate() {
            let above = order[i + 1..].iter().take_while(|(other, _)| other.bottom < core.top);
            if let Some((_, other)) = above.into_iter().find(|(other, _)| other.meets(*core)) {
                return Err(format!("has {} over {}", run.name(), other.name()));
            }
        }
        Ok(())
    }
}
