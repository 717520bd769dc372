//! What a step asks the operator to do, as meaning; templates put it into words.

use super::{Field, Prose, ReadOut};
use serde::Serialize;

/// The act of one step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "act", rename_all = "kebab-case")]
pub enum Act {
    /// One joint moves.
    Move(Travel),
    /// Two joints move together.
    Together {
        /// Both moves, the one that leads first.
        moves: Vec<Travel>,
        /// The engraved name of the joint that leads, where one is named.
        first: Option<Field>,
        /// Where that joint is half way, and how far the other may be then.
        half: Option<Prose>,
        /// Where one waits for the other.
        gates: Vec<Gate>,
    },
    /// The grip level is set.
    Grip {
        /// "2".
        level: Field,
    },
    /// The jaw closes on a load.
    Close {
        /// The load.
        load: Field,
    },
    /// The jaw opens, or closes empty.
    Jaw {
        /// "OPEN" or "CLOSE".
        word: Field,
        /// "120 mm".
        opening: Field,
        /// Least accepted.
        low: Field,
        /// Greatest accepted.
        high: Field,
    },
    /// A load leaves its station.
    Lift {
        /// The load.
        load: Field,
        /// The station.
        station: Field,
        /// The move that does it.
        travel: Travel,
    },
    /// A load is set on a station.
    Lower {
        /// The load.
        load: Field,
        /// The station.
        station: Field,
        /// The move that does it.
        travel: Travel,
    },
    /// The jaw lets go of a load that stands on a station.
    LetGo {
        /// The load.
        load: Field,
        /// The station.
        station: Field,
        /// How far the jaw opens.
        opening: Field,
        /// Least accepted.
        low: Field,
        /// Greatest accepted.
        high: Field,
    },
    /// Console power.
    Power {
        /// `on` or `off`, and of what.
        state: Field,
    },
    /// What the operator looks through from here on.
    View {
        /// Window or camera.
        view: Field,
        /// The monitor it is shown on.
        monitor: Option<Field>,
    },
    /// A message to a post.
    Tell {
        /// The post.
        role: Field,
    },
    /// All joints are compared with the printed values.
    ReadJoints {
        /// Expected values of every joint.
        readouts: Vec<ReadOut>,
    },
    /// The pose or station the arm must be at.
    Expect {
        /// Name of pose or station.
        at: Field,
        /// The read-outs that show it.
        readouts: Vec<ReadOut>,
    },
    /// A tool is fitted.
    Fit {
        /// The tool.
        tool: Field,
    },
    /// A tool is put down.
    PutDown {
        /// The tool.
        tool: Field,
    },
    /// Equipment of the cell is set.
    Set {
        /// The equipment.
        equipment: Field,
        /// Its new state.
        state: Field,
    },
    /// Work goes on elsewhere.
    GoTo {
        /// What is printed, such as "step 20", with a link.
        to: Prose,
    },
    /// Something is written down; the blank stands in the step's own column.
    Record {
        /// What is recorded.
        name: Field,
    },
    /// Something is looked at; labelled lines say what must be true.
    Check {
        /// What to look at, where the writer said so.
        what: Option<Prose>,
    },
    /// A sentence for people, without a statement.
    Instruction {
        /// The sentence.
        text: Prose,
    },
}

/// One joint's move.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Travel {
    /// The engraved name.
    pub joint: Field,
    /// The direction word.
    pub direction: Field,
    /// Where it ends.
    pub goal: Goal,
    /// Every value it may start from.
    pub from: Vec<Field>,
    /// The read-out changes sign on the way.
    pub crosses_zero: bool,
    /// `slow` or `inch`.
    pub pace: Option<Field>,
    /// What the hand does.
    pub push: Option<Push>,
}

/// Where a move ends. Bands are limits, lower first: nobody does arithmetic at a console.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "goal", rename_all = "kebab-case")]
pub enum Goal {
    /// At a read-out. A relative move is printed so too: its end was checked, not its change.
    To {
        /// The value.
        target: Field,
        /// Lowest accepted.
        low: Field,
        /// Highest accepted.
        high: Field,
    },
    /// When something is seen or read, before a limit.
    Until {
        /// What ends the move.
        cue: Field,
        /// The side of the limit it must not come to: "above" or "below".
        side: Field,
        /// The value never to pass.
        limit: Field,
        /// How far a stop at that value was checked to run on.
        checked: Field,
    },
    /// In taps until contact.
    Taps {
        /// Size of one tap.
        tap: Field,
        /// Most taps.
        most: Field,
        /// Contact expected from here.
        low: Field,
        /// Contact expected up to here.
        high: Field,
        /// "the lower end": that of the two that is reached last, from where there is no tap more.
        far: Field,
    },
}

/// What the hand does with the stick, and what the eye then sees.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Push {
    /// "Left stick".
    pub stick: Field,
    /// "PUSH", "TWIST LEFT".
    pub act: Field,
    /// "Window 2: the cup goes down, away".
    pub seen: Option<Prose>,
}

/// One joint waits for the other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gate {
    /// The joint that waits.
    pub joint: Field,
    /// The side it waits not to come to: "above" or "below".
    pub side: Field,
    /// Where it waits.
    pub limit: Field,
    /// The joint it waits for.
    pub until: Field,
    /// The side it must have come to.
    pub past_side: Field,
    /// What that one must have passed.
    pub past: Field,
}
