//! Arguments in, exit code out.

use clap::Parser;

// A debug build ends where a device's callback allocates.
#[cfg(all(debug_assertions, feature = "audio"))]
#[global_allocator]
static TRAP: assert_no_alloc::AllocDisabler = assert_no_alloc::AllocDisabler;

fn main() -> miette::Result<()> {
    leadhand::shell::args::Args::parse().run()
}
