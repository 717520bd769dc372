//! Reading a policy.

use super::keys::*;
use super::rules::*;
use super::*;
use crate::diag::Diagnostic;
use crate::model::keys::key;
use crate::model::names::{self, For};
use crate::model::read::{self, Read};
use crate::syntax::record::{Field, Record};

/// Reads a policy. Every problem is reported; there is a policy only if all of the file could be read.
pub fn load(file: FileId, text: &str) -> (Option<Policy>, Vec<Diagnostic>) {
    read::whole(file, text, "the policy", build)
}

fn build(r: &Record<'_>) -> Option<Policy> {
    let site = r.words(key!(POLICY, "site"));
    let revision = r.words(key!(POLICY, "revision"));
    let date = r.date(key!(POLICY, "date"));
    let stop_word = r.words(key!(POLICY, "stop-word"));
    let mut first_role = None;
    let roles = r.rows(key!(POLICY, "role"), |r| {
        first_role.get_or_insert(r.span());
        let (name, performs, clears) = (r.name(key!(ROLE, "name")), r.flag(key!(ROLE, "performs")), r.flag(key!(ROLE, "clears")));
        let decides = r.flag(key!(ROLE, "decides"));
        Some(Role { name: name?, clears, performs, decides })
    });
    check_roles(r, &roles, first_role);
    let alerts = r.get(key!(POLICY, "alerts")).table(alerts).flatten();
    let sections = r.lines(key!(POLICY, "sections"));
    let writing = r.get(key!(POLICY, "writing")).table(writing).unwrap_or_default();
    let longest_run = r.count(key!(POLICY, "longest-run"));
    let grip_factor = r.factor(key!(POLICY, "grip-factor"));
    let advise_reversed = r.flag(key!(POLICY, "advise-reversed"));
    let sight = r.word(key!(POLICY, "sight"), &[Sight::ToolPoint, Sight::NearestToo]);
    let near = r.factor(key!(POLICY, "near"));
    let model_age = r.quantity(key!(POLICY, "model-age"));
    let lines = r.rows(key!(POLICY, "line"), |r| {
        let (act, label) = (r.word(key!(LINE, "act"), &Act::ALL), r.word(key!(LINE, "label"), &Label::ALL));
        Some(LineDemand { span: r.span(), act: act?.value, label: label?.value })
    });
    let demands = r.rows(key!(POLICY, "demand"), |r| demand(r, &roles));
    check_repeats(r, &lines, &demands);
    let times = r.get(key!(POLICY, "times")).table(times::times);
    let severities = r.get(key!(POLICY, "severities")).entries().into_iter().map(severity).collect::<Option<Vec<_>>>();
    let waivable = r.get(key!(POLICY, "waivable")).names();
    names::check_all(r, For::Thing("waivable rule"), &waivable);
    let paper = r.word(key!(POLICY, "paper"), &[Paper::A4, Paper::Letter]);
    let data_sheets = r.word(key!(POLICY, "data-sheets"), &[DataSheets::Always, DataSheets::Never]);
    let preset = r.word(key!(POLICY, "preset"), &Preset::ALL);
    let language = r.words(key!(POLICY, "language"));
    Some(Policy {
        file: r.file(),
        site: site?,
        revision: revision?,
        date: date?,
        roles: roles.into_iter().collect::<Option<_>>()?,
        stop_word: stop_word?.value,
        sections,
        alerts: alerts?,
        lines: lines.into_iter().collect::<Option<_>>()?,
        demands: demands.into_iter().collect::<Option<_>>()?,
        writing,
        longest_run: longest_run?,
        grip_factor: grip_factor?,
        advise_reversed,
        sight: sight.map_or(Sight::ToolPoint, |s| s.value),
        near: near.map_or(Ratio(3_000_000), |n| n.value),
        model_age,
        times,
        severities: severities?,
        waivable,
        paper: paper.map(|p| p.value),
        preset: preset.map(|p| p.value),
        language,
        data_sheets: data_sheets.map(|p| p.value),
    })
}

fn check_roles(r: &Record<'_>, roles: &[Option<Role>], first: Option<Span>) {
    names::check_all(r, For::Role, roles.iter().flatten().map(|r| &r.name));
    let (Some(first), true) = (first, roles.iter().all(Option::is_some)) else { return };
    if !roles.iter().flatten().any(|r| r.performs) {
        r.report(NOBODY_PERFORMS.at(first, "none of the posts has `performs = true`").help("say which post drives the arm"));
    }
    for second in roles.iter().flatten().filter(|r| r.decides).skip(1) {
        let problem = SEVERAL_DECIDE.at(second.name.span, "a second post has `decides = true`");
        r.report(problem.help("leave it to the one whose word counts after a stop"));
    }
    if !roles.iter().flatten().any(|r| r.clears) {
        r.report(NOBODY_CLEARS.at(first, "none of the posts has `clears = true`").help("say which post clears hold points"));
    }
}

fn alerts(r: &Record<'_>) -> Option<AlertScheme> {
    let (warning, caution, note) = (r.words(key!(ALERTS, "warning")), r.words(key!(ALERTS, "caution")), r.words(key!(ALERTS, "note")));
    let avoid_allowed = r.flag(key!(ALERTS, "avoid-allowed"));
    Some(AlertScheme { span: r.span(), warning: warning?.value, caution: caution?.value, note: note?.value, avoid_allowed })
}

fn writing(r: &Record<'_>) -> Writing {
    let prose = r.word(key!(WRITING, "prose"), &[Prose::Off, Prose::Advice, Prose::Warning]);
    let strict = r.flag(key!(WRITING, "strict"));
    let omit = r.word(key!(WRITING, "articles"), &[false, true]);
    let most = r.count(key!(WRITING, "longest-sentence"));
    let verbs = r.get(key!(WRITING, "verbs")).table(verbs).unwrap_or_default();
    let listed_only = r.flag(key!(WRITING, "listed-verbs-only"));
    let plumb = r.quantity(key!(WRITING, "plumb"));
    let terms = r.rows(key!(WRITING, "term"), |r| {
        let (name, mut not) = (r.words(key!(TERM, "use")), r.lines(key!(TERM, "not")));
        not.iter_mut().for_each(|n| n.value.make_ascii_lowercase());
        Some(Term { name: name?, not })
    });
    let most_words = most.map_or(Writing::default().most_words, |m| m.value);
    let omit_articles = omit.is_some_and(|o| o.value);
    Writing {
        prose: prose.map_or(Prose::Off, |p| p.value),
        strict,
        omit_articles,
        most_words,
        listed_only,
        verbs,
        plumb: plumb.map_or(Writing::default().plumb, |a: Spanned<Angle>| a.value),
        terms: terms.into_iter().flatten().collect(),
    }
}

fn verbs(r: &Record<'_>) -> Vec<(String, VerbClass)> {
    let lists = [
        key!(VERBS, "manipulate"),
        key!(VERBS, "observe"),
        key!(VERBS, "record"),
        key!(VERBS, "communicate"),
        key!(VERBS, "branch"),
        key!(VERBS, "hold"),
    ];
    let of = |(key, class): (_, VerbClass)| {
        r.get(key).names().into_iter().map(move |v| (v.value.to_ascii_lowercase(), class)).collect::<Vec<_>>()
    };
    lists.into_iter().zip(VerbClass::ALL).flat_map(of).collect()
}

/// [`Need`] before its role is known.
#[derive(Clone, Copy)]
enum Wants {
    Hold,
    Witness,
    Alone(Need),
}

fn demand(r: &Record<'_>, roles: &[Option<Role>]) -> Option<Demand> {
    let act = r.word(key!(DEMAND, "act"), &Act::ALL);
    let critical_only = r.flag(key!(DEMAND, "critical-only"));
    let all = [
        Wants::Hold,
        Wants::Witness,
        Wants::Alone(Need::SecondPerson),
        Wants::Alone(Need::VerifyAfter),
        Wants::Alone(Need::Alert(AlertKind::Warning)),
        Wants::Alone(Need::Alert(AlertKind::Caution)),
        Wants::Alone(Need::Alert(AlertKind::Note)),
    ];
    let wants = r.word(key!(DEMAND, "needs"), &all);
    let reason = r.words(key!(DEMAND, "reason"));
    // For needs without a post, a written `role` stays unasked and so is refused as unknown.
    let needs = match wants.map(|w| w.value) {
        Some(Wants::Alone(need)) => Some(need),
        Some(Wants::Hold) => role(r, roles, true).map(Need::Hold),
        Some(Wants::Witness) => role(r, roles, false).map(Need::Witness),
        None => {
            _ = r.key(key!(DEMAND, "role").name);
            None
        }
    };
    Some(Demand { span: r.span(), act: act?.value, critical_only, needs: needs?, reason: reason?.value })
}

fn role(r: &Record<'_>, roles: &[Option<Role>], clears: bool) -> Option<RoleId> {
    let name = r.key(key!(DEMAND, "role").name).needed().name()?;
    let Some(at) = roles.iter().position(|r| r.as_ref().is_some_and(|r| r.name.value == name.value)) else {
        if roles.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "role", &name.value, roles.iter().flatten().map(|r| r.name.value.as_str())));
        }
        return None;
    };
    let anybody = roles.iter().flatten().any(|r| r.clears);
    if let Some(role) = roles[at].as_ref().filter(|r| clears && anybody && !r.clears) {
        let message = format!("{} may not clear a hold point", role.name.value);
        r.report(UNFIT_CLEARER.at(name.span, message).label(role.name.span, "the post; `clears = true` would allow it"));
    }
    u16::try_from(at).ok().map(RoleId)
}

fn check_repeats(r: &Record<'_>, lines: &[Option<LineDemand>], demands: &[Option<Demand>]) {
    let report = |first: Span, second: Span| r.report(REPEATED_DEMAND.at(second, "this is asked for already").label(first, "the first"));
    let lines: Vec<_> = lines.iter().flatten().collect();
    for (i, line) in lines.iter().enumerate() {
        if let Some(first) = lines[..i].iter().find(|l| (l.act, l.label) == (line.act, line.label)) {
            report(first.span, line.span);
        }
    }
    let demands: Vec<_> = demands.iter().flatten().collect();
    for (i, demand) in demands.iter().enumerate() {
        let same = |d: &&&Demand| (d.act, d.critical_only, d.needs) == (demand.act, demand.critical_only, demand.needs);
        if let Some(first) = demands[..i].iter().find(same) {
            report(first.span, demand.span);
        }
    }
}

fn severity((rule, field): (Spanned<String>, Field<'_>)) -> Option<(Spanned<String>, Severity)> {
    let words = [("error", Severity::Error), ("warning", Severity::Warning), ("advice", Severity::Advice)];
    field.choice(&words).map(|s| (rule, s.value))
}
