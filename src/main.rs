//! The `bloomward` program.

use mimalloc::MiMalloc;
use std::process::ExitCode;
use std::thread;

/// A run makes many small things for a moment, and asks for memory that it soon gives back: the system's own allocator took
/// a third of the time of a regional rulebook's proofs.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

/// Names may be computed from names in chains as long as the rulebook, and each link takes some stack. The memory is only
/// reserved, and not used before it is needed.
const STACK: usize = 512 << 20;

fn main() -> ExitCode {
    let run = thread::Builder::new().stack_size(STACK).spawn(bloomward::cli::run);
    // A machine that cannot reserve so much runs all but such a rulebook with what it has.
    run.map_or_else(|_| bloomward::cli::run(), |run| run.join().unwrap_or(ExitCode::from(101)))
}
