//! The plan of the cell as the first step finds it, and what its windows and cameras show to the right.

use super::Basis;
use super::figure::bodies;
use crate::document::Field;
use crate::document::evidence::Chart;
use crate::document::figure::plan::{Eye, Plan, plan};
use crate::document::training::View;
use crate::geometry::{Vec3, metres};
use crate::model::cell;
use crate::model::solid::um;
use crate::space::leg::nominal;
use crate::space::sight::picture;
use crate::trace::FrameId;
use crate::words::ids;
use std::sync::Arc;

/// What lies more to one side than this, as a share, is told by that side alone: the sine of 22.5 deg.
const PLAIN: f64 = 0.382_683;

impl Basis<'_> {
    /// The plan; none where nothing was looked at in space.
    pub(super) fn plan(&self) -> Option<Chart> {
        let (p, scene, words) = (self.procedure, self.survey.scene.as_deref().ok()?, self.words());
        let first = self.trace.rows_of(FrameId::ROOT).next()?;
        let state = &self.trace.before(first).next()?.state;
        let angles: Vec<i64> = state.joints().iter().map(|r| nominal(r).0).collect();
        let placed = scene.chain().place_exact(&angles);
        let present = scene.present(p, self.trace, state)?;
        let stations = p.cell.stations.iter().zip(&scene.spots);
        let subject = Plan {
            item: "plan".to_owned(),
            foot: scene.chain().base().at,
            bodies: bodies((scene, &p.cell), &present, &placed, None),
            joints: placed.axes.iter().map(|a| (a.origin, a.direction)).collect(),
            stations: stations.filter_map(|(s, spot)| Some((s.title.clone(), metres(spot.as_ref()?.point)))).collect(),
            eyes: p.cell.views.iter().filter_map(eye).collect(),
        };
        let title = words.say(ids::PLAN_TITLE).to_owned();
        let drawing = Arc::new(plan(&subject, words)?);
        Some(Chart { item: "plan".to_owned(), title, about: words.say(ids::PLAN_SHOWS).to_owned(), drawing })
    }

    /// Every window and camera, in the order of the cell.
    pub(super) fn views(&self) -> Vec<View> {
        let words = self.words();
        let view = |(n, view): (usize, &cell::View)| {
            let field = |key: &str, text: String| Field::new(format!("training.view{n}.of-{key}"), text);
            let kind = words.say(if view.camera { ids::PLAN_CAMERA } else { ids::PLAN_WINDOW }).to_owned();
            let at = |[x, y, z]: [crate::units::Length; 3]| words.fill(ids::PLAN_AT, [&x.to_string(), &y.to_string(), &z.to_string()]);
            View {
                name: field("name", view.title.clone()),
                kind: field("kind", if view.mirrored { words.fill(ids::PLAN_MIRRORED, [&kind]) } else { kind }),
                eye: field("eye", view.position.map_or_else(|| words.say(ids::PLAN_NO_PLACE).to_owned(), at)),
                right: eye(view).and_then(|e| e.right).map(|right| field("right", self.toward(right))),
            }
        };
        (1..).zip(&self.procedure.cell.views).map(view).collect()
    }

    /// A direction by the axes of the cell that it is nearest to: one, or the two it lies between, the nearer one first.
    fn toward(&self, way: Vec3) -> String {
        let words = self.words();
        let mut axes = [("x", way.x), ("y", way.y), ("z", way.z)];
        axes.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        let name = |(axis, share): (&str, f64)| format!("{}{axis}", if share < 0.0 { "-" } else { "+" });
        let [most, other, _] = axes;
        if other.1.abs() < PLAIN {
            words.fill(ids::PLAN_TOWARD, [&name(most)])
        } else {
            words.fill(ids::PLAN_BETWEEN, [&name(most), &name(other)])
        }
    }
}

/// The eye of a view that has a place.
fn eye(view: &cell::View) -> Option<Eye> {
    Some(Eye {
        name: view.title.clone(),
        at: metres(um(view.position?)),
        looks_at: view.looks_at.map(|p| metres(um(p))),
        right: picture(view).ok().flatten().map(|p| p.right()),
    })
}
