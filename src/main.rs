//! The program `scruple`: see [`scruple::cli`].

fn main() -> std::process::ExitCode {
    scruple::cli::run()
}
