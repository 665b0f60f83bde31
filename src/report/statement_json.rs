//! A chain of statements in JSON.

use super::json;
use crate::explain::Statement;
use crate::source::Sources;

/// Writes a chain as a list of statements, each with those that it rests on.
pub fn write_chain(out: &mut Vec<u8>, sources: &Sources, chain: &[Statement]) {
    json::list(out, chain, |out, statement| {
        out.extend_from_slice(b"{\"item\":");
        json::text(out, &statement.item);
        out.extend_from_slice(b",\"at\":");
        json::text(out, &sources.locate(statement.at));
        out.extend_from_slice(b",\"says\":");
        json::text(out, &statement.says);
        out.extend_from_slice(b",\"because\":");
        match &statement.because {
            Some(because) => json::text(out, because),
            None => out.extend_from_slice(b"null"),
        }
        out.extend_from_slice(b",\"cites\":");
        json::texts(out, statement.cites.iter().map(String::as_str));
        out.extend_from_slice(b",\"from\":");
        write_chain(out, sources, &statement.from);
        out.push(b'}');
    });
}
