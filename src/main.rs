//! The program; everything it does stands in the library.

fn main() -> std::process::ExitCode {
    surehand::cli::main()
}
