//! A step that goes over to another page: printed again are its number and its alerts, said on both pages, and nothing else.

use super::paper::{Paper, Shown};
use super::{check, made, printed};
use lopdf::content::Operation;
use surehand::document::build::Instruction;
use surehand::document::{Act, Alert, Block, Label, Line, Prose, Signal};
use surehand::model::Standing;
use surehand::readback::Item;
use surehand::words::Words;

/// Gives the first move many lines more and an alert before it; its item and the alert's.
fn lengthen(blocks: &mut Vec<Block>, lines: usize) -> Option<(String, String)> {
    for n in 0..blocks.len() {
        match &mut blocks[n] {
            Block::Section(section) => {
                if let Some(found) = lengthen(&mut section.blocks, lines) {
                    return Some(found);
                }
            }
            Block::Step(step) if matches!(step.act, Act::Move(_)) => {
                let (item, alert) = (step.item.clone(), "a1".to_owned());
                let line = |i: usize| format!("the rim of the cup at mark {} of the scale, window 1", i + 1);
                let line =
                    |i: usize| Line { is: Label::Watch, label: "Watch".to_owned(), text: Prose::plain(format!("{item}.more{i}"), line(i)) };
                step.lines.extend((0..lines).map(line));
                let said = |part: &str, words: &str| Some(Prose::plain(format!("{alert}.{part}"), words));
                let block = Alert {
                    item: alert.clone(),
                    signal: Signal::Warning,
                    hazard: said("hazard", "The rim is sharp."),
                    consequence: said("consequence", "a cut glove."),
                    avoid: None,
                    text: Vec::new(),
                };
                blocks.insert(n, Block::Alert(block));
                return Some((item, alert));
            }
            _ => {}
        }
    }
    None
}

/// Whether an operation shows these words.
fn shows(paper: &Paper, ops: &[Operation], at: usize, words: &str) -> bool {
    let font = ops[..at].iter().rev().find(|o| o.operator == "Tf").and_then(|o| o.operands[0].as_name().ok());
    let font = font.map(|f| String::from_utf8_lossy(f).into_owned());
    ops[at].operator == "TJ" && font.is_some_and(|f| paper.text(&f, &ops[at].operands[0]).trim() == words)
}

fn over() -> (Vec<Item>, Vec<u8>, String, String) {
    let mut document = made("stow-heron.md").document;
    let (step, alert) = lengthen(&mut document.blocks, 90).expect("a move");
    let (items, mut files) = printed(&Instruction::draft(document, 0, Standing::Invented, Words::english()));
    (items, files.remove("pdf").expect("a PDF"), step, alert)
}

#[test]
fn a_step_that_goes_over_and_does_not_say_so_is_refused() {
    let (items, pdf, step, alert) = over();
    check("pdf", &pdf, &items).expect("as it is printed");
    let paper = Paper::open(&pdf);
    let number = format!("{step}.number");
    let numbers: Vec<_> = paper.shown.iter().filter(|s| s.id == number).cloned().collect();
    assert!(numbers.len() >= 3, "on {} pages", numbers.len());
    let second = &numbers[1];
    assert_eq!(numbers[0].page + 1, second.page);
    let refused = |what: &str, bytes: Vec<u8>, names: &str| {
        let error = check("pdf", &bytes, &items).expect_err(what).to_string();
        assert!(error.contains(names), "{what}: {error}");
    };
    let drop = |page: usize, open: usize, show: usize| paper.with(|pages| drop(pages[page].1.drain(open..=show).collect::<Vec<_>>()));
    let over = format!("{step} goes over to page {}", second.page + 1);
    // The words at the foot of one page and at the head of the next.
    for (page, words) in [(numbers[0].page, "continued on next page"), (second.page, "(continued)")] {
        let ops = &paper.pages[page].1;
        let at = (0..ops.len()).find(|at| shows(&paper, ops, *at, words)).unwrap_or_else(|| panic!("{words} stands there"));
        refused(words, drop(page, at, at), &over);
    }
    refused("the number is not repeated", drop(second.page, second.open, second.show), &over);
    let of_alert = |s: &&Shown| s.page == second.page && s.id.starts_with(&format!("{alert}."));
    let first = paper.shown.iter().find(of_alert).expect("the alert again");
    refused("a sentence of the alert is not repeated", drop(second.page, first.open, first.show), &format!("{step} goes over"));
    // A value of the page before, once more at the head of the page.
    let value = paper.shown.iter().find(|s| s.page == numbers[0].page && s.id == format!("{step}.more1")).expect("a line").clone();
    let twice = paper.with(|pages| {
        let ops = pages[value.page].1[value.open - 1..=value.show].to_vec();
        let _ = pages[second.page].1.splice(second.show + 1..second.show + 1, ops);
    });
    refused("a line printed twice", twice, &step);
    // The pages of the step exchanged.
    let swapped = paper.with(|pages| {
        let one = pages[second.page].1.clone();
        pages[second.page].1 = pages[second.page + 1].1.clone();
        pages[second.page + 1].1 = one;
    });
    assert!(check("pdf", &swapped, &items).is_err(), "pages exchanged");
}
