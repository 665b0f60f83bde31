//! A chain of statements in JSON: what they say is English, whatever the language of pages is.

use super::json;
use crate::explain::Statement;
use crate::words::Scene;

/// Writes a chain as a list of statements, each with those that it rests on.
pub fn write_chain(out: &mut Vec<u8>, scene: &Scene<'_>, chain: &[Statement]) {
    write(out, &scene.in_english(), chain);
}

fn write(out: &mut Vec<u8>, scene: &Scene<'_>, chain: &[Statement]) {
    json::list(out, chain, |out, statement| {
        out.extend_from_slice(b"{\"item\":");
        json::text(out, &statement.item.written(scene.plan));
        out.extend_from_slice(b",\"at\":");
        json::text(out, &scene.sources.locate(statement.at));
        out.extend_from_slice(b",\"says\":");
        json::text(out, &scene.says(statement));
        out.extend_from_slice(b",\"because\":");
        match &statement.because {
            Some(because) => json::text(out, because),
            None => out.extend_from_slice(b"null"),
        }
        out.extend_from_slice(b",\"cites\":");
        let cites: Vec<String> = statement.cites.iter().map(|it| scene.words().cited(it)).collect();
        json::texts(out, cites.iter().map(String::as_str));
        out.extend_from_slice(b",\"from\":");
        write(out, scene, &statement.from);
        out.push(b'}');
    });
}
