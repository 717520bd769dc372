//! What no rule can decide: questions that a reviewer answers with a signature.

use crate::diag::{Evidence, Question};

/// A question; its id names the defect that a "no" would be.
const fn question(id: &'static str, words: &'static str, why: &'static str, evidence: Evidence) -> Question {
    Question { id, words, why, evidence }
}

/// Every question, in the order in which they are put.
pub static QUESTIONS: &[Question] = &[
    question(
        "hidden-action",
        "Does each warning, caution, note and precaution only inform, with no action hidden in its words?",
        "The patterns that look for orders in alerts miss those in unusual words.",
        Evidence::Read("MIL-DTL-23618H 3.1.5.3c; DOE-STD-1029-92, by a digest: no action in alerts and precautions"),
    ),
    question(
        "wrong-signal-word",
        "Is each alert under the signal word that the site's scheme has for it?",
        "Whether a hazard hurts people or equipment is known to those who know the cell.",
        Evidence::Read("MIL-DTL-23618H 3.1.5.3e; ANSI Z535 in its wording of 1997"),
    ),
    question(
        "missing-hazard",
        "Is every hazard of the work named, and is each complete: what threatens, what it would do, where if that is not obvious?",
        "What is not written cannot be found by reading.",
        Evidence::Read("MIL-DTL-87268D 3.2.2.2; DOE-STD-1090-96 2.2c"),
    ),
    question(
        "wrong-detail",
        "Does the detail of the steps fit those who perform them: nothing that they must guess, nothing that they skip?",
        "It depends on who performs, and how often.",
        Evidence::CommonPractice,
    ),
    question(
        "if-for-when",
        "Does each condition with IF speak of something that may happen, and each with WHEN of something that is awaited?",
        "What is expected is known to those who know the work.",
        Evidence::Digest("DOE-STD-1029-92: IF for what may happen, WHEN for what is expected"),
    ),
    question(
        "joined-halves",
        "Does each capital AND and OR join two whole conditions, each of which can be judged by itself?",
        "A pattern for it is wrong too often to be a rule.",
        Evidence::Digest("DOE-STD-1029-92: AND and OR join clauses"),
    ),
    question(
        "unobserved-condition",
        "Can each condition and each criterion be seen, read or heard from where its reader stands, with what they have?",
        "Words can name a view that shows nothing of the kind.",
        Evidence::Read("10 CFR 50 App. B V: criteria by which it is determined that activities have been accomplished"),
    ),
    question(
        "unknown-abbreviation",
        "Is each abbreviation known to all who read the page, and is it the same everywhere?",
        "Labels in capitals look like abbreviations.",
        Evidence::Read("MIL-STD-1472E 5.5.3.2, for labels"),
    ),
    question(
        "adjusted-under-test",
        "Where the work is a test: do the steps leave the thing under test as it is?",
        "What is under test is known to those who wrote the test.",
        Evidence::Read("MIL-STD-2106A 5.2.9.1f: no adjustment of the item under test"),
    ),
    question(
        "not-walked-through",
        "Was this revision walked through at a mock-up or with an empty cell, and is the record of it at hand?",
        "A desk check is not enough; what is recorded of a trial stands under Validation.",
        Evidence::Read("MIL-STD-2106A 5.2.12; NUREG-0899, by a digest: validation by walk-through"),
    ),
    question(
        "changed-approvers",
        "Have the organisations that approved the last revision reviewed this one?",
        "Approvals are kept by the site's document control and not in these files.",
        Evidence::Read("10 CFR 50 App. B VI: changes are reviewed and approved by the same organisations"),
    ),
    question(
        "one-person-twice",
        "Will those who clear holds, agree and verify on the shift be other persons than the performer, and apart where a step says \"verify after\"?",
        "Posts are checked; who holds them is settled on the day.",
        Evidence::Read("10 CFR 50 App. B X; DOE-STD-1036-93"),
    ),
];
