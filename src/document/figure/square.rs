//! A QR code (ISO/IEC 18004) as a drawing.

use super::Drawing;
use super::scene::{Ink, Path, Point, Scene};
use crate::words::{Words, ids};
use qrcodegen::{QrCode, QrCodeEcc};

/// Side of a module in thousandths of a millimetre: what a hand-held reader takes from a poor copy.
const MODULE: i32 = 420;
/// White modules around, as the standard asks.
const QUIET: i32 = 4;

/// The square that says these words. Words too long for any square give an empty one.
pub fn square(content: &str, words: &Words) -> Drawing {
    let mut scene = Scene { title: words.say(ids::FIGURE_QR).to_owned(), ..Scene::default() };
    if let Ok(code) = QrCode::encode_text(content, QrCodeEcc::Medium) {
        let side = (code.size() + 2 * QUIET) * MODULE;
        (scene.width, scene.height) = (side, side);
        let corner = |x: i32, y: i32| Point { x: (x + QUIET) * MODULE, y: (y + QUIET) * MODULE };
        let mut paths = Vec::new();
        for y in 0..code.size() {
            let mut x = 0;
            while x < code.size() {
                let run = (x..code.size()).take_while(|x| code.get_module(*x, y)).count() as i32;
                if run > 0 {
                    paths.push(Path::through([corner(x, y), corner(x + run, y), corner(x + run, y + 1), corner(x, y + 1)], true));
                }
                x += run.max(1);
            }
        }
        scene.fill(paths, Ink::Black);
    }
    Drawing { views: vec![scene], key: Vec::new(), description: words.fill(ids::FIGURE_QR_ABOUT, [content]) }
}
