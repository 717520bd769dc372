//! The verbs of the trade in classes, and what form of one a word is. A site adds its own in the policy.

use crate::model::policy::VerbClass;
use VerbClass::{Branch, Communicate, Hold, Manipulate, Observe, Record};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Verbs that are nothing else, or hardly: at the head of a sentence they give an order.
const PLAIN: &[(VerbClass, &str)] = &[
    (
        Manipulate,
        "activate add adjust aim align allow alternate apply arrange assemble attach begin bind bleed brace bring build carry chill clasp \
         coil collect combine compress connect contact continue crimp deactivate decrease deliver deploy depress detach dilute disable \
         disassemble discard disconnect disengage dispose don drape dump eject elevate embed employ enable energise engage enter equip \
         erase erect evacuate exchange expand expose extend extinguish fasten fetch fill fit flatten flush gather get give glue go grasp \
         grease grind halt hang immerse increase inflate inhibit inject insert install interchange interlock invert isolate join keep \
         knot lay leave let loosen lubricate maintain make manipulate manoeuvre mix modify moisten nudge obtain operate orient peel \
         perform pierce pour prepare preserve protect pry puncture put raise reach reattach rebuild recheck reconnect recover redirect \
         reduce refill refit refuel regulate reinstall rejoin relax relieve relocate remove replace reposition reseal reseat restore \
         restrain restrict retain retighten retract retrieve rinse rotate rub scoop scrape seize select send sever shake sharpen shorten \
         silence slacken slide smooth soak solder sort sprinkle squeeze stabilise stir stow straighten stretch strip submerge suspend \
         swap swing swivel take tamp thaw throttle throw tighten tilt transport unbolt uncap unclamp unclip uncoil uncouple uncover undo \
         unfasten unfold unhook uninstall unlatch unload unlock unpack unplug unroll unscrew unseal unseat unstrap untie unwind unwrap \
         vary wear wind wipe withdraw wrap",
    ),
    (Observe, "ascertain compare confirm ensure examine find identify inspect listen locate look observe see verify"),
    (Record, "calculate compute determine write"),
    (Communicate, "acknowledge advise announce ask inform instruct notify remind say speak tell warn"),
    (Branch, "follow proceed refer resume skip"),
    (Hold, "await remain stay"),
];

/// Verbs that are nouns or adjectives as well: they give an order only where what follows says so.
const AMBIGUOUS: &[(VerbClass, &str)] = &[
    (
        Manipulate,
        "anchor back bag balance bend blast block blow bolt bottle brake break brush bundle bypass cap catch centre change charge clamp \
         clean clear clip close control cool cover crank cross cut cycle dim dip direct divide double drag drain draw drill drive drop \
         dry dust empty end face fan feed file filter finish fix flip fold force free gate grip guard guide hammer hand handle heat hinge \
         hoist hold hook iron jack jaw jog label lap latch lean level lever lift light limit line load lock lower mark mask match mount \
         move nut oil open pack pad paint park pass patch pick pin pinch pivot place plug point polish position power press pressurise \
         prime pull pump purge push rack re-open release repair reset rest restart return rig ring rock roll route run save scan scrap \
         screw seal seat secure separate set shade shield shift shim ship shut signal slew slice sling slip slit snap spin split spool \
         spot spray spread spring stack stamp start steam steer step stick stop store strap strike supply support swab sweep swipe switch \
         tag tap tape tear test thread tie time tip tool torque touch tow transfer trigger trim trip tuck tug turn twist use vacuum valve \
         vent warm wash wedge weld wet wrench zero zoom",
    ),
    (Observe, "check monitor track view watch witness"),
    (Record, "copy count initial list log measure note plot read record sign sketch"),
    (Communicate, "call reply report repeat request second"),
    (Hold, "pause wait"),
];

/// Third persons and plurals that are no form of a verb above but close a statement.
const STATES: &[&str] = &[
    "is", "are", "was", "were", "has", "have", "had", "can", "could", "may", "might", "will", "would", "must", "shall", "should", "needs",
    "need", "does", "do", "did", "gets", "stands", "stand", "lies", "lie", "hangs", "hang", "rests", "sits", "falls", "fall", "drips",
    "drip", "leaks", "leak", "shows", "show", "reads", "says", "stays", "goes", "comes", "come", "works", "blinks", "blink", "glows",
    "meets", "meet", "agrees", "agree", "matches", "match", "points", "rises", "rise", "sinks", "sink", "leans", "lean", "slips", "slip",
    "spills", "burns", "breaks", "bends", "jams", "tears", "melts", "exposes", "causes", "damages", "harms", "floods", "hides", "lets",
    "looks", "means", "belongs", "bears", "springs", "clears", "becomes", "remains", "changes", "moves", "opens", "closes", "stops",
    "starts", "turns", "runs", "holds", "drops", "lags", "differ", "differs", "appears", "happens", "applies", "apply", "seals", "fits",
    "trips",
];

/// What the table says of a verb.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::writing) struct Verb {
    /// What it asks for.
    pub class: VerbClass,
    /// It is a noun or an adjective as well.
    pub ambiguous: bool,
}

/// The tables, each verb found at once.
static LISTED: LazyLock<BTreeMap<&str, Verb>> = LazyLock::new(|| {
    let each = |(table, ambiguous): (&'static [(VerbClass, &'static str)], bool)| {
        let verbs = move |(class, verbs): &'static (VerbClass, &'static str)| {
            verbs.split_ascii_whitespace().map(move |v| (v, Verb { class: *class, ambiguous }))
        };
        table.iter().flat_map(verbs)
    };
    [(PLAIN, false), (AMBIGUOUS, true)].into_iter().flat_map(each).collect()
});

/// The verbs in force: those above and the site's.
pub(in crate::writing) struct Verbs<'a> {
    site: &'a [(String, VerbClass)],
}

impl<'a> Verbs<'a> {
    /// With the verbs of a site, in lower case.
    pub fn of(site: &'a [(String, VerbClass)]) -> Verbs<'a> {
        Verbs { site }
    }
    /// The verb that `word` is in the form of an order, in any case.
    pub fn order(&self, word: &str) -> Option<Verb> {
        let word = &*word.to_ascii_lowercase();
        let own = || self.site.iter().find(|(v, _)| v == word).map(|(_, class)| Verb { class: *class, ambiguous: false });
        own().or_else(|| LISTED.get(word).copied())
    }
    /// The verb that `word` is the -ing form of: "turning", "putting", "moving".
    pub fn ing(&self, word: &str) -> Option<Verb> {
        let stem = word.strip_suffix("ing").filter(|s| s.len() > 1)?;
        self.stem(stem)
    }
    /// The verb that `word` is the -ed form of: "turned", "stopped", "moved".
    pub fn ed(&self, word: &str) -> Option<Verb> {
        self.stem(word.strip_suffix("ed").filter(|s| s.len() > 1)?)
    }
    fn stem(&self, stem: &str) -> Option<Verb> {
        let doubled = || {
            let b = stem.as_bytes();
            (b.len() > 2 && b[b.len() - 1] == b[b.len() - 2]).then(|| self.order(&stem[..stem.len() - 1])).flatten()
        };
        let y = || stem.strip_suffix('i').and_then(|s| self.order(&format!("{s}y")));
        self.order(stem).or_else(|| self.order(&format!("{stem}e"))).or_else(doubled).or_else(y)
    }
    /// Whether `word` closes a statement: "is", "shows", "drops".
    pub fn finite(&self, word: &str) -> bool {
        STATES.iter().any(|s| s.eq_ignore_ascii_case(word)) || self.third(word)
    }
    /// "removes", "blinks", "trips": a word that can be the third person of a verb; some are plurals as well.
    pub fn third_person(&self, word: &str) -> bool {
        let listed = |w: &str| self.order(w).is_some();
        word.strip_suffix('s').is_some_and(listed) || word.strip_suffix("es").is_some_and(listed)
    }
    /// "removes", "presses": the third person of a verb that is hardly anything else.
    fn third(&self, word: &str) -> bool {
        let plain = |w: &str| self.order(w).is_some_and(|v| !v.ambiguous);
        word.strip_suffix('s').is_some_and(plain) || word.strip_suffix("es").is_some_and(plain)
    }
}

/// Participles that do not end in -ed.
const IRREGULAR: &[&str] = &[
    "taken",
    "put",
    "shut",
    "set",
    "made",
    "held",
    "kept",
    "left",
    "sent",
    "given",
    "done",
    "drawn",
    "driven",
    "hung",
    "wound",
    "undone",
    "withdrawn",
    "brought",
    "laid",
    "let",
    "cut",
    "written",
    "read",
    "told",
    "found",
    "seen",
    "worn",
    "swung",
    "thrown",
    "lit",
    "built",
    "broken",
    "torn",
    "bent",
    "fed",
    "ground",
    "spread",
    "swept",
    "chosen",
    "met",
];

/// Whether `word` is the participle of a passive.
pub(in crate::writing) fn is_participle(word: &str) -> bool {
    IRREGULAR.iter().any(|p| p.eq_ignore_ascii_case(word)) || word.len() > 4 && word.ends_with("ed") && word != "indeed"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_lead_back_to_their_verb() {
        let site = [("snip".to_string(), Manipulate)];
        let verbs = Verbs::of(&site);
        let class = |v: Option<Verb>| v.map(|v| v.class);
        assert_eq!(class(verbs.ing("turning")), Some(Manipulate));
        assert_eq!(class(verbs.ing("putting")), Some(Manipulate));
        assert_eq!(class(verbs.ing("removing")), Some(Manipulate));
        assert_eq!(class(verbs.ing("watching")), Some(Observe));
        assert_eq!(class(verbs.ed("stopped")), Some(Manipulate));
        assert_eq!(class(verbs.ed("unlatched")), Some(Manipulate));
        assert_eq!(class(verbs.order("SNIP")), Some(Manipulate));
        assert!(verbs.order("window").is_none() && verbs.ing("string").is_none());
        assert!(verbs.finite("removes") && verbs.finite("is") && !verbs.finite("lamps"));
    }

    #[test]
    fn no_verb_stands_twice() {
        let mut all: Vec<&str> = PLAIN.iter().chain(AMBIGUOUS).flat_map(|(_, verbs)| verbs.split_ascii_whitespace()).collect();
        let count = all.len();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
