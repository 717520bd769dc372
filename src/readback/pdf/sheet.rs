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

    pub(super) fn grown(self, by: f32) -> Area {
        Area { left: self.left - by, bottom: self.bottom - by, right: self.right + by, top: self.top + by }
    }

    pub(super) fn meets(self, other: Area) -> bool {
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
    /// Where its last letter ends.
    pub ink: f32,
    pub baseline: f32,
    pub size: f32,
    pub white: bool,
}

impl Run {
    /// Where its letters have most of their ink: between the baseline and the height of an x.
    fn core(&self) -> Area {
        let (side, foot, head) = (0.03 * self.size, 0.03 * self.size, 0.48 * self.size);
        Area { left: self.left + side, bottom: self.baseline + foot, right: self.ink - side, top: self.baseline + head }
    }

    /// The space it needs with its risers and tails.
    pub(super) fn space(&self) -> Area {
        Area { left: self.left, bottom: self.baseline - 0.22 * self.size, right: self.ink, top: self.baseline + 0.75 * self.size }
    }

    /// Its id and its words.
    pub(super) fn name(&self) -> String {
        self.id.as_ref().map_or_else(|| format!("{:?}", self.text), |id| format!("{id} {:?}", self.text))
    }

    pub(super) fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// A place on a page, in points.
pub(super) type Place = (f32, f32);

/// What is painted, in painting order.
#[derive(Debug, Default)]
pub(super) struct Ground {
    painted: Vec<Paint>,
}

/// One thing painted.
#[derive(Debug)]
struct Paint {
    /// All of it lies in here.
    around: Area,
    /// Its straight edges; those of an area go round.
    edges: Vec<(Place, Place)>,
    look: Look,
}

#[derive(Debug)]
enum Look {
    /// A line, as far to either side as this.
    Line(f32),
    /// An area, white or black.
    Fill { white: bool },
}

/// How an area lies to the core of some words.
enum Lies {
    Apart,
    Under,
    Across,
}

impl Ground {
    /// Notes a filled shape by its edges; each is closed by its first place.
    pub(super) fn fill(&mut self, shape: &[Vec<Place>], white: bool) {
        let edges = shape.iter().flat_map(|ring| (0..ring.len()).map(move |i| (ring[i], ring[(i + 1) % ring.len()]))).collect();
        self.paint(shape, edges, 0.0, Look::Fill { white });
    }

    /// Notes drawn lines.
    pub(super) fn stroke(&mut self, lines: &[Vec<Place>], width: f32) {
        let edges = lines.iter().flat_map(|line| line.windows(2).map(|w| (w[0], w[1]))).collect();
        self.paint(lines, edges, width / 2.0, Look::Line(width / 2.0));
    }

    fn paint(&mut self, places: &[Vec<Place>], edges: Vec<(Place, Place)>, grown: f32, look: Look) {
        if let Some(around) = Area::around(&places.concat()) {
            self.painted.push(Paint { around: around.grown(grown), edges, look });
        }
    }

    /// What words with this core stand on: whether it is black; an error if a line or the edge of an area runs through them.
    /// What was painted later covers what was painted before.
    fn under(&self, core: Area, name: &dyn Fn() -> String) -> Result<bool, String> {
        for paint in self.painted.iter().rev().filter(|p| p.around.meets(core)) {
            match paint.look {
                Look::Line(half) if paint.edges.iter().any(|(a, b)| crosses(*a, *b, core.grown(half))) => {
                    return Err(format!("has a line through {}", name()));
                }
                Look::Line(_) => {}
                Look::Fill { white } => match paint.lies(core) {
                    Lies::Apart => {}
                    Lies::Under => return Ok(!white),
                    Lies::Across => return Err(format!("has {} half on an area", name())),
                },
            }
        }
        Ok(false)
    }

    /// Holds every run to be seen: within the sheet, on a ground of the other colour, no line through it, no other on it.
    pub(super) fn shows(&self, runs: &[Run], sheet: Area) -> Result<(), String> {
        let mut order: Vec<(Area, &Run)> = Vec::with_capacity(runs.len());
        for run in runs.iter().filter(|r| !r.is_blank()) {
            let (core, name) = (run.core(), || run.name());
            if !sheet.holds(run.space()) {
                return Err(format!("has words outside the sheet: {} at {}, {}", name(), run.left, run.baseline));
            }
            let black = self.under(core, &name)?;
            if black != run.white {
                return Err(format!("has {} in the colour of its ground", name()));
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

impl Paint {
    /// How an area lies to the core of some words: half a point of an edge does not count.
    fn lies(&self, core: Area) -> Lies {
        let middle = ((core.left + core.right) / 2.0, (core.bottom + core.top) / 2.0);
        let inside = self.has(middle);
        let through = |area: Area| self.edges.iter().any(|(a, b)| crosses(*a, *b, area));
        match (through(core), inside) {
            (false, false) => Lies::Apart,
            (false, true) => Lies::Under,
            (true, true) if !through(core.grown(-0.5)) => Lies::Under,
            (true, _) => Lies::Across,
        }
    }

    /// Whether a place lies in the area: its edges wind round it.
    fn has(&self, (x, y): Place) -> bool {
        let mut turns = 0;
        for ((ax, ay), (bx, by)) in &self.edges {
            let side = (bx - ax) * (y - ay) - (x - ax) * (by - ay);
            if *ay <= y && *by > y && side > 0.0 {
                turns += 1;
            } else if *ay > y && *by <= y && side < 0.0 {
                turns -= 1;
            }
        }
        turns != 0
    }
}

/// Whether a straight piece runs through an area.
fn crosses(a: Place, b: Place, area: Area) -> bool {
    if area.left >= area.right || area.bottom >= area.top {
        return false;
    }
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut from, mut to) = (0.0_f32, 1.0_f32);
    for (step, room) in [(-dx, a.0 - area.left), (dx, area.right - a.0), (-dy, a.1 - area.bottom), (dy, area.top - a.1)] {
        if step == 0.0 {
            if room <= 0.0 {
                return false;
            }
        } else if step < 0.0 {
            from = from.max(room / step);
        } else {
            to = to.min(room / step);
        }
    }
    from < to || (from == to && dx == 0.0 && dy == 0.0)
}
