//! Sentences that the program says in the edition to learn from alone: what an instructor teaches from, the plan of the cell.

use super::{Declared, Entry, Kind, REVIEWED, SPOKEN};

spoken! { TAUGHT, SPOKEN.len() + REVIEWED.len();
    TRAINING_TITLE Plain "training.title" [];
    TRAINING_FALL Plain "training.fall" ["load" "mass" "height"];
    TRAINING_FALL_ONTO Plain "training.fall-onto" ["load" "mass" "thing" "height" "energy"];
    TRAINING_DROPS Plain "training.drops" [];
    TRAINING_REVERSED Plain "training.reversed" ["count" "steps"];
    TRAINING_NOT_REVERSED Plain "training.not-reversed" [];
    TRAINING_NEAREST Plain "training.nearest" ["pair" "distance" "step"];
    TRAINING_WATCH Plain "training.watch" ["step" "watch"];
    TRAINING_WARNING Plain "training.warning" ["step" "hazard" "consequence"];
    TRAINING_AT Plain "training.at" ["step" "where"];
    TRAINING_HOLDS Safety "training.holds" [];
    TRAINING_WITNESSES Safety "training.witnesses" [];
    TRAINING_VERIFIES Safety "training.verifies" [];
    TRAINING_TURNOVERS Safety "training.turnovers" [];
    TRAINING_FIRST_MOVES Plain "training.first-moves" ["steps"];
    TRAINING_STOP Safety "training.stop" [];
    TRAINING_WRONG_WAY Safety "training.wrong-way" [];
    TRAINING_VIEW_LOST Safety "training.view-lost" [];
    TRAINING_POWER_LOST Safety "training.power-lost" ["place"];
    TRAINING_ASK_HOLD Plain "training.ask-hold" [];
    TRAINING_ASK_WITNESS Plain "training.ask-witness" [];
    TRAINING_ASK_VERIFY Plain "training.ask-verify" [];
    TRAINING_ASK_TURNOVER Plain "training.ask-turnover" [];
    TRAINING_UNSIGNED Safety "training.unsigned" [];
    TRAINING_NO_REASON Plain "training.no-reason" [];
    TRAINING_CARD Plain "training.card" ["arm"];
    PLAN_TITLE Plain "plan.title" [];
    PLAN_SHOWS Plain "plan.shows" [];
    PLAN_ARM Plain "plan.arm" [];
    PLAN_STATION Plain "plan.station" [];
    PLAN_EYE Plain "plan.eye" [];
    PLAN_RIGHT Plain "plan.right" [];
    PLAN_SIGHT Plain "plan.sight" [];
    PLAN_WINDOW Plain "plan.window" [];
    PLAN_CAMERA Plain "plan.camera" [];
    PLAN_MIRRORED Plain "plan.mirrored" ["kind"];
    PLAN_NO_PLACE Plain "plan.no-place" [];
    PLAN_AT Plain "plan.at" ["x" "y" "z"];
    PLAN_TOWARD Plain "plan.toward" ["axis"];
    PLAN_BETWEEN Plain "plan.between" ["most" "other"];
}
