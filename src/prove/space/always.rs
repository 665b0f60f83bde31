//! What rulebooks say is always so: situations in which a grove is refused are none. A value that does not exist breaks nothing.

use super::Space;
use super::compute::domain;
use super::roots::{names_in, names_within};
use crate::plan::{Always, NameId};
use crate::situation::Set;

/// Takes out the situations that a rulebook refuses.
pub(super) fn add(space: &mut Space<'_>, book: usize) {
    for always in &space.rooted[book].plan.always {
        let kept = kept(space, book, always);
        space.relations.push(kept);
    }
}

/// Takes out the situations that both of two rulebooks refuse: where one of them takes a grove its rules decide.
pub(super) fn add_common(space: &mut Space<'_>) {
    let meanings = [0, 1].map(|book: usize| {
        let rooted = &space.rooted[book];
        rooted.plan.always.iter().map(|it| rooted.definitions.condition(&it.statement)).collect::<Vec<_>>()
    });
    let mut own = [Set::ALL; 2];
    for book in 0..2 {
        for (always, meaning) in space.rooted[book].plan.always.iter().zip(&meanings[book]) {
            let kept = kept(space, book, always);
            if !meanings[1 - book].contains(meaning) {
                own[book] = space.diagrams.both(own[book], kept);
            } else if book == 0 {
                space.relations.push(kept);
            }
        }
    }
    let taken = space.diagrams.either(own[0], own[1]);
    if !taken.is_all() {
        space.relations.push(taken);
    }
}

/// Returns the situations in which a grove may be taken, by one statement: it may hold, or something of which it speaks may not
/// exist.
pub(crate) fn kept(space: &mut Space<'_>, book: usize, always: &Always) -> Set {
    let holds = space.may_hold(book, &always.statement, true);
    let mut sets = vec![holds];
    sets.extend(spoken(space, book, always).into_iter().map(|name| exists_not(space, book, name)));
    space.diagrams.any(sets)
}

/// Returns the situations in which a grove may be refused, by one statement.
pub(crate) fn refused(space: &mut Space<'_>, book: usize, always: &Always) -> Set {
    let broken = space.may_hold(book, &always.statement, false);
    let mut names = Vec::new();
    names_in(&always.statement, &mut names);
    names.retain(|name| space.read(book, *name).is_some());
    let missing: Vec<Set> =
        names.into_iter().map(|name| space.where_name(book, name, &|extent| extent.is_empty())).collect();
    let missing = space.diagrams.any(missing);
    space.diagrams.without(broken, missing)
}

/// Returns the names that a statement speaks of; those that the program made itself with what they are made of.
fn spoken(space: &Space<'_>, book: usize, always: &Always) -> Vec<NameId> {
    let plan = space.rooted[book].plan;
    let mut names = Vec::new();
    names_in(&always.statement, &mut names);
    let mut at = 0;
    while let Some(name) = names.get(at).copied() {
        at += 1;
        if plan[name].hidden {
            let within = names_within(plan, name);
            names.extend(within.into_iter().filter(|it| !names.contains(it)).collect::<Vec<NameId>>());
        }
    }
    names
}

fn exists_not(space: &mut Space<'_>, book: usize, name: NameId) -> Set {
    match space.read(book, name) {
        Some(_) => space.where_name(book, name, &|extent| extent.may_be_empty),
        None if domain(space.rooted[book].plan, name).may_be_empty => Set::ALL,
        None => Set::NONE,
    }
}
