//! What hangs on the names that a worked example takes for unknown, or for something between two values.

use crate::plan::NameId;
use crate::prove::space::Space;
use crate::prove::space::panicles::names_inside;
use crate::prove::space::roots::{Root, Rooted};
use std::collections::BTreeSet;

/// Returns the variables of names that are not known for sure, and of all that comes from them: computed names, and what
/// is asked of panicles.
pub(crate) fn variables(space: &Space<'_>, book: usize, unsure: &BTreeSet<NameId>) -> BTreeSet<u16> {
    let rooted = &space.rooted[book];
    let names = (0..rooted.plan.names.len() as u32).map(NameId);
    let read = names.filter_map(|name| Some((name, space.variable(book, name)?)));
    read.filter(|(name, _)| hangs(rooted, *name, unsure, &mut BTreeSet::new()))
        .map(|(_, variable)| variable)
        .collect()
}

fn hangs(rooted: &Rooted<'_>, name: NameId, unsure: &BTreeSet<NameId>, seen: &mut BTreeSet<NameId>) -> bool {
    if unsure.contains(&name) {
        return true;
    }
    if !seen.insert(name) {
        return false;
    }
    rooted.roots(name).into_values().any(|root| match root {
        Root::Name(of) => unsure.contains(&of),
        Root::Leaf(_) => {
            let mut inside = Vec::new();
            names_inside(rooted.plan, root, &mut inside);
            inside.into_iter().any(|it| hangs(rooted, it, unsure, seen))
        }
    })
}
