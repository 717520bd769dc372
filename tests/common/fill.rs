//! A skeleton of an arm profile, filled in with anything that fits.

/// Takes the marks of the lines to be filled in away and puts a value of the right form in each.
pub(crate) fn fill(skeleton: &str) -> String {
    let mut out = String::new();
    for (at, line) in skeleton.lines().enumerate() {
        match line.strip_prefix("#? ") {
            Some(blank) => out += &filled(blank, at),
            None => out += line,
        }
        out.push('\n');
    }
    out
}

fn filled(blank: &str, at: usize) -> String {
    // `seen-from` and words for people may be alike, direction words and grip levels may not.
    let mut line = blank.replacen("word = \"...\"", &format!("word = \"way-{}\"", ["raise", "lower"][at % 2]), 1);
    // No two movements of one stick may be alike.
    line = line
        .replace("itive = \"...\"", &format!("itive = \"push {at}\""))
        .replace("negative = \"...\"", &format!("negative = \"pull {at}\""));
    for (from, to) in [
        ("low = \"... deg\", high = \"... deg\"", "low = \"-180 deg\", high = \"180 deg\""),
        ("soft-margin = \"... deg\"", "soft-margin = \"0 deg\""),
        ("band = \"... deg\"", "band = \"1 deg\""),
        ("most = \"... mm\"", "most = \"100 mm\""),
        ("\"... deg\"", "\"0.1 deg\""),
        ("\"... deg/s\"", "\"5 deg/s\""),
        ("\"... mm\"", "\"1 mm\""),
        ("\"... N\"", "\"5 N\""),
        ("\"... kg\"", "\"0.001 kg\""),
        ("YYYY-MM-DD", "2026-01-05"),
        ("\"...\"", "\"filled\""),
        (" = ...", " = 1"),
    ] {
        line = line.replace(from, to);
    }
    // The first of the words that are offered.
    match line.split_once('|') {
        Some((first, rest)) => format!("{first}\"{}", rest.split_once('"').map_or("", |(_, rest)| rest)),
        None => line,
    }
}
