//! Reading a rulebook and the bases that it builds on, without touching files.
//!
//! Comes in: the rulebook's text and a function that reads others. Goes out: a plan and findings. Where a base lies
//! and where it must not is decided here, by the text of paths alone.

use super::{Layer, check, wording};
use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use crate::syntax;
use crate::syntax::tree::{Clause, ItemKind, Tree};
use std::sync::Arc;

/// How many files may build one on another.
const DEEPEST: usize = 32;

/// Returns the base that a rulebook builds on, as written, and where it says so.
pub fn builds_on<'t>(tree: &'t Tree<'_>) -> Option<(&'t str, Span)> {
    let head = tree.items.iter().find(|item| item.kind == ItemKind::Rulebook)?;
    head.clauses.iter().find_map(|clause| match &clause.value {
        Clause::BuildsOn(path, _) => Some((path.value.as_str(), path.span)),
        _ => None,
    })
}

/// Returns the path of a base, from the path of the rulebook that names it.
///
/// The path may bear a revision before a colon, which the base is then taken from too. Refused, with the reason in one
/// clause: absolute paths, and paths that climb out of both the rulebook's folder and the library.
pub fn resolve(rulebook: &str, base: &str, library: Option<&str>) -> Result<String, String> {
    if base.trim().is_empty() {
        return Err("it names no file".to_string());
    }
    if base.starts_with(['/', '\\', '~']) || base.contains(':') {
        return Err("it is absolute, and a base is found from the rulebook's own folder".to_string());
    }
    if base.contains('\\') {
        return Err("folders are parted by `/`".to_string());
    }
    let (revision, path) = split_revision(rulebook);
    let folder = path.rfind('/').map(|end| path.get(..=end).unwrap_or_default()).unwrap_or_default();
    let found = normal(&format!("{folder}{base}"));
    let inside = |root: &str| {
        let root = normal(root);
        let rest = if root.is_empty() { Some(found.as_str()) } else { found.strip_prefix(root.as_str()) };
        rest.is_some_and(|rest| {
            (root.is_empty() || root.ends_with('/') || rest.starts_with('/'))
                && !rest.trim_start_matches('/').starts_with("..")
        })
    };
    if inside(folder) || library.is_some_and(inside) {
        return Ok(format!("{revision}{found}"));
    }
    Err("it leads out of the rulebook's folder and of the library".to_string())
}

/// Splits `REV:PATH`; a drive's letter is no revision.
fn split_revision(path: &str) -> (&str, &str) {
    match path.find(':') {
        Some(at) if at > 1 => path.split_at(at + 1),
        Some(_) | None => ("", path),
    }
}

/// Returns a path without `.`, doubled slashes and steps back that can be taken.
fn normal(path: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." if parts.last().is_some_and(|last| *last != "..") => {
                parts.pop();
            }
            part => parts.push(part),
        }
    }
    let root = if path.starts_with('/') { "/" } else { "" };
    format!("{root}{}", parts.join("/"))
}

/// Reads a rulebook with its bases, and checks them.
///
/// `read` returns the text of a path, or why it cannot be read. Bases are added to the sources under their paths.
pub fn load(
    top: SourceId,
    sources: &mut Sources,
    library: Option<&str>,
    read: &mut dyn FnMut(&str) -> Result<String, String>,
) -> (Option<Plan>, Problems) {
    let mut descent = Descent { sources, library, read, paths: Vec::new(), problems: Problems::default() };
    let name = descent.sources.get(top).map(|source| source.name.clone()).unwrap_or_default();
    let (mut plan, checked) = descent.down(top, normal_name(&name), &[]);
    let mut problems = descent.problems;
    problems.extend(checked);
    problems.sort();
    if problems.iter().any(|problem| super::is_of_text(problem.finding)) {
        plan = None;
    }
    (plan, problems)
}

struct Descent<'d> {
    sources: &'d mut Sources,
    library: Option<&'d str>,
    read: &'d mut dyn FnMut(&str) -> Result<String, String>,
    /// The files on the way down, the rulebook first.
    paths: Vec<String>,
    problems: Problems,
}

impl Descent<'_> {
    /// Parses a file, goes down to its base, and checks all when the deepest is reached.
    fn down(&mut self, id: SourceId, path: String, above: &[Layer<'_>]) -> (Option<Plan>, Problems) {
        let text: Arc<str> = self.sources.get(id).map(|source| source.text.clone()).unwrap_or_default();
        let (tree, problems) = syntax::parse_text(&text, id);
        self.problems.extend(problems);
        self.paths.push(path.clone());
        let mut layers: Vec<Layer<'_>> = vec![Layer { source: id, text: &text, tree: &tree }];
        layers.extend(above.iter().copied());
        let Some((base, span)) = builds_on(&tree) else { return check(&layers) };
        match self.base(&path, base, span) {
            Some((id, path)) => self.down(id, path, &layers),
            // Without its base an overlay's names cannot be judged.
            None => (None, Problems::default()),
        }
    }

    fn base(&mut self, path: &str, base: &str, span: Span) -> Option<(SourceId, String)> {
        let found = match resolve(path, base, self.library) {
            Ok(found) => found,
            Err(why) => {
                self.problems.push(
                    Problem::new(Finding::Input, span, format!("`{base}` cannot be built on: {why}")).help(
                        "write a path inside the rulebook's folder or the library: `base/mango.rulebook`",
                    ),
                );
                return None;
            }
        };
        if let Some(at) = self.paths.iter().position(|known| *known == found) {
            let circle: Vec<&str> = self.paths.iter().skip(at).map(String::as_str).collect();
            let message = wording::circle(&circle, "builds on");
            self.problems.push(
                Problem::new(Finding::Circular, span, message)
                    .help("one of them must stand on its own: take its `builds-on` out"),
            );
            return None;
        }
        if self.paths.len() >= DEEPEST {
            let message = format!("more than {DEEPEST} rulebooks build one on another");
            self.problems.push(Problem::new(Finding::Input, span, message));
            return None;
        }
        match (self.read)(&found) {
            Ok(text) => Some((self.sources.add(found.as_str(), text), found)),
            Err(why) => {
                self.problems.push(
                    Problem::new(Finding::Input, span, format!("the base `{found}` cannot be read: {why}"))
                        .help("the path begins in the folder of this rulebook"),
                );
                None
            }
        }
    }
}

/// Returns the name of a source as a path to compare others with.
fn normal_name(name: &str) -> String {
    let (revision, path) = split_revision(name);
    format!("{revision}{}", normal(path))
}
