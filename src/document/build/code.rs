//! Check values of blocks: four characters over all that a block prints, to be read over the phone, so that a page of another
//! print in the file is noticed.

use super::Edition;
use crate::document::{Block, Field};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::VecDeque;

/// No letter or figure that is taken for another when it is read aloud or from a poor copy.
const LETTERS: &[u8; 25] = b"ACDEFHJKLMNPQRTUVWXY34679";

/// Gives every strip the check value of its block; the values in printed order, each with the short name of its block.
///
/// The edition to learn from takes part in them, so that no block of it passes for one of the crew's. What reviewers approve has the
/// values that the crew will find.
pub(super) fn mark(blocks: &mut [Block], edition: Edition) -> Vec<(String, String)> {
    let head = if edition.is_taught() { edition.word() } else { "" };
    let mut runs = Runs { head, done: Vec::new(), open: None };
    runs.list(blocks);
    runs.close();
    let codes = runs.done;
    let mut waiting: VecDeque<String> = codes.iter().map(|c| c.1.clone()).collect();
    write(blocks, &mut waiting, &mut None);
    codes
}

/// What is printed between one opening strip and the next.
struct Runs {
    /// What every block begins with.
    head: &'static str,
    done: Vec<(String, String)>,
    /// The short name of a block with what it has printed so far.
    open: Option<(String, Vec<u8>)>,
}

impl Runs {
    fn close(&mut self) {
        if let Some((name, printed)) = self.open.take() {
            let mut rest = Sha256::digest(&printed).iter().take(8).fold(0_u64, |sum, byte| sum << 8 | u64::from(*byte));
            let mut code = String::new();
            for _ in 0..4 {
                code.push(char::from(LETTERS[(rest % LETTERS.len() as u64) as usize]));
                rest /= LETTERS.len() as u64;
            }
            self.done.push((name, code));
        }
    }

    fn add(&mut self, value: &impl Serialize) {
        if let Some((_, printed)) = &mut self.open {
            // Writing into memory cannot fail, and every printed value can be written.
            let _ = serde_json::to_writer(printed, value);
        }
    }

    fn list(&mut self, blocks: &[Block]) {
        for block in blocks {
            match block {
                Block::Strip(strip) => {
                    if strip.stopped.is_some() {
                        self.close();
                        self.open = Some((strip.short.clone(), self.head.as_bytes().to_vec()));
                    }
                    self.add(block);
                }
                Block::Section(s) => {
                    self.add(&(&s.item, &s.heading, &s.kind));
                    self.list(&s.blocks);
                }
                Block::Condition(c) => {
                    self.add(&(&c.number, &c.text, &c.lines));
                    for arm in &c.arms {
                        self.add(&(&arm.number, arm.holds));
                        self.list(&arm.blocks);
                    }
                }
                Block::Repeat(r) => {
                    self.add(&(&r.number, &r.most, &r.until, &r.lines));
                    self.list(&r.blocks);
                }
                Block::Perform(p) => {
                    self.add(&(&p.number, &p.of, &p.lines));
                    self.list(&p.blocks);
                }
                other => self.add(other),
            }
        }
    }
}

fn write(blocks: &mut [Block], codes: &mut VecDeque<String>, now: &mut Option<String>) {
    for block in blocks {
        match block {
            Block::Strip(strip) => {
                if strip.stopped.is_some() {
                    *now = codes.pop_front();
                }
                strip.code = now.as_ref().map(|code| Field::new(format!("{}.code", strip.item), code));
            }
            Block::Section(s) => write(&mut s.blocks, codes, now),
            Block::Condition(c) => c.arms.iter_mut().for_each(|arm| write(&mut arm.blocks, codes, now)),
            Block::Repeat(r) => write(&mut r.blocks, codes, now),
            Block::Perform(p) => write(&mut p.blocks, codes, now),
            _ => {}
        }
    }
}
