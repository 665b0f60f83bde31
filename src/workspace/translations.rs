//! Reads the translations that stand beside a rulebook and its bases, `NAME.es.yaml` beside `NAME.rulebook`.

use super::Store;
use crate::grove::yaml::{self, Value};
use crate::plan::{Plan, Translated, Translation};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::{SourceId, Sources, Span};
use std::path::{Path, PathBuf};

/// The languages in which translations are looked for.
pub const TRANSLATED: [&str; 1] = ["es"];

/// Returns where the translation of a rulebook stands.
pub fn translation_path(rulebook: &str, language: &str) -> PathBuf {
    Path::new(rulebook).with_extension(format!("{language}.yaml"))
}

/// Reads the translations beside some rulebooks, each rulebook before its base: what an overlay's says goes before its base's.
pub(super) fn read(
    store: &dyn Store,
    books: &[String],
    plan: &mut Plan,
    sources: &mut Sources,
) -> Result<(), Box<Problem>> {
    let mut wrong = Ok(());
    for language in TRANSLATED {
        let mut translation = Translation { language: language.into(), ..Translation::default() };
        for book in books {
            let path = translation_path(book, language);
            if !store.exists(&path) {
                continue;
            }
            let Ok(text) = store.read(&path) else { continue };
            let id = sources.add(path.to_string_lossy().into_owned(), text);
            wrong = wrong.and(add(&mut translation, id, sources));
        }
        if !translation.texts.is_empty() {
            plan.add_translation(translation);
        }
    }
    wrong
}

/// Adds the texts of one file; what is there already stays.
fn add(translation: &mut Translation, id: SourceId, sources: &Sources) -> Result<(), Box<Problem>> {
    let node = yaml::parse(id, sources)?;
    let wrong = |span: Span, message: &'static str| {
        let help =
            "write the author's text, a colon and its translation: `\"open flowers\": flores abiertas`";
        Err(Box::new(Problem::new(Finding::Input, span, message).help(help)))
    };
    let entries = match node.value {
        Value::Map(entries) => entries,
        Value::Nothing => return Ok(()),
        Value::Text(_) | Value::List(_) => return wrong(node.span, "a translation is a map of texts"),
    };
    for (key, node) in entries {
        let Value::Text(text) = node.value else { return wrong(key.span, "this text has no translation") };
        let known = translation.texts.get(&*key.text);
        if known.is_some_and(|known| known.span.source == id) {
            return wrong(key.span, "this text is translated twice");
        }
        let translated = Translated { text: text.into(), span: key.span };
        translation.texts.entry(key.text.into()).or_insert(translated);
    }
    Ok(())
}

/// Says of a rulebook which keys of the translations beside it are none of its texts, and which of its texts have none.
/// What stands beside its bases is left to them.
pub fn translation_findings(plan: &Plan, sources: &Sources) -> Problems {
    let mut problems = Problems::default();
    let texts = plan.texts_of_author();
    let book = sources.get(plan.head.span.source).map_or("", |source| &source.name);
    for translation in &plan.translations {
        let path = translation_path(book, &translation.language);
        let is_own = |id: SourceId| sources.get(id).is_some_and(|source| Path::new(&*source.name) == path);
        let own = translation.texts.iter().filter(|(_, it)| is_own(it.span.source));
        let mut own = own.peekable();
        if own.peek().is_none() {
            continue;
        }
        for (key, translated) in own.filter(|(key, _)| !texts.contains(*key)) {
            let message = format!("`{key}` is no text of this rulebook that a page prints");
            let help = match nearest(key, texts.iter().map(|text| &**text)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "write the author's text letter for letter, or leave the line out".to_owned(),
            };
            problems.push(Problem::new(Finding::Unused, translated.span, message).help(help));
        }
        let left: Vec<&str> =
            texts.iter().map(|text| &**text).filter(|text| !translation.texts.contains_key(*text)).collect();
        if let Some(first) = left.first() {
            let count = left.len();
            let message = match count {
                1 => format!("one text has no translation in `{}`", path.display()),
                _ => format!("{count} texts have no translation in `{}`", path.display()),
            };
            let help = format!("the first is `{first}`: write its translation there");
            problems.push(Problem::new(Finding::NotTranslated, plan.head.span, message).help(help));
        }
    }
    problems
}
