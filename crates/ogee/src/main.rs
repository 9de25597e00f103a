//! Ogee: the window and the command line.

fn main() -> std::process::ExitCode {
    ogee::command::run(std::env::args_os().collect()).unwrap_or(std::process::ExitCode::SUCCESS)
}
