//! The kinds of line and hatch, told apart without colour; each that is drawn stands in the key.

use super::body::Role;
use super::scene::{Dash, Pen, Weight};
use crate::words::ids::{self, Entry};
use std::f64::consts::FRAC_1_SQRT_2;

/// What a line or a hatch stands for, in the order of the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    End,
    AtStart,
    Start,
    Swept,
    Load,
    Near,
    Solid,
    KeepOut,
    Unsurveyed,
    Slow,
    Sight,
    Station,
    Eye,
    Right,
    Looks,
}

/// Parallel lines: their direction on paper, their distance in thousandths of a millimetre, their pen.
pub(super) type Hatch = ((f64, f64), i32, Pen);

/// The edge and the hatches of an area.
pub(super) struct Look {
    pub edge: Pen,
    pub hatches: &'static [Hatch],
}

const FINE: Pen = Pen::solid(Weight::Fine);
const RISING: (f64, f64) = (FRAC_1_SQRT_2, -FRAC_1_SQRT_2);
const FALLING: (f64, f64) = (FRAC_1_SQRT_2, FRAC_1_SQRT_2);

/// The hatch of what is solid, also behind a wall.
pub(super) const SOLID: Hatch = (RISING, 1700, FINE);

impl Kind {
    /// How a body is drawn that stands in the way.
    pub(super) fn of(role: Role) -> Kind {
        match role {
            Role::Slow => Kind::Slow,
            Role::Obstacle => Kind::Solid,
            Role::KeepOut => Kind::KeepOut,
            Role::Unsurveyed => Kind::Unsurveyed,
            Role::Resting | Role::Held => Kind::Load,
            Role::Start | Role::HeldAtStart => Kind::Start,
            Role::End => Kind::End,
        }
    }

    /// Its words in the key.
    pub(super) fn words(self) -> Entry<0> {
        match self {
            Kind::End => ids::KEY_END,
            Kind::Start => ids::KEY_START,
            Kind::Swept => ids::KEY_SWEPT,
            Kind::Load => ids::KEY_LOAD,
            Kind::Near => ids::KEY_NEAR,
            Kind::Solid => ids::KEY_SOLID,
            Kind::KeepOut => ids::KEY_KEEP_OUT,
            Kind::Unsurveyed => ids::KEY_UNSURVEYED,
            Kind::Slow => ids::KEY_SLOW,
            Kind::Sight => ids::KEY_SIGHT,
            Kind::Station => ids::PLAN_STATION,
            Kind::Eye => ids::PLAN_EYE,
            Kind::Right => ids::PLAN_RIGHT,
            Kind::Looks => ids::PLAN_SIGHT,
            Kind::AtStart => ids::PLAN_ARM,
        }
    }

    /// Its edge and hatches.
    pub(super) fn look(self) -> Look {
        let edge = |weight, dash| Pen { weight, dash };
        match self {
            Kind::End | Kind::AtStart => Look { edge: Pen::solid(Weight::Thick), hatches: &[] },
            Kind::Start => Look { edge: edge(Weight::Thin, Dash::Dashed), hatches: &[] },
            Kind::Swept => Look { edge: FINE, hatches: &[((1.0, 0.0), 1300, Pen { weight: Weight::Thin, dash: Dash::Dotted })] },
            Kind::Load => Look { edge: Pen::solid(Weight::Thin), hatches: &[((0.0, 1.0), 900, FINE)] },
            Kind::Near => Look { edge: Pen::solid(Weight::Thin), hatches: &[] },
            Kind::Solid => Look { edge: Pen::solid(Weight::Thin), hatches: &[SOLID] },
            Kind::KeepOut => Look { edge: edge(Weight::Thin, Dash::Chain), hatches: &[(FALLING, 3500, FINE)] },
            Kind::Unsurveyed => Look { edge: edge(Weight::Thin, Dash::Dashed), hatches: &[(FALLING, 2800, FINE), (RISING, 2800, FINE)] },
            Kind::Slow => Look { edge: edge(Weight::Thin, Dash::Long), hatches: &[] },
            Kind::Sight | Kind::Looks => Look { edge: edge(Weight::Fine, Dash::Long), hatches: &[] },
            Kind::Station | Kind::Eye => Look { edge: Pen::solid(Weight::Thin), hatches: &[] },
            Kind::Right => Look { edge: Pen::solid(Weight::Medium), hatches: &[] },
        }
    }
}
