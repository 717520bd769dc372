//! Slips put into the worked library by hand: every one must be refused.

mod library;

use library::{DEMOS, check};

#[test]
fn the_library_is_clean() {
    for demo in DEMOS {
        assert_eq!(check(demo, &[]), [], "{demo}");
    }
}
