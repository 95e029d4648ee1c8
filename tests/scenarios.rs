//! Every scenario and what README shows, run through the real program and compared whole: exit status, standard output, standard error.
//!
//! `TRYCMD=overwrite cargo test --test all scenarios::` writes what came out; read it before committing it.

#[test]
fn scenarios_come_out_as_they_stand() {
    // As in `folder.rs`.
    let state = tempfile::tempdir().unwrap();
    trycmd::TestCases::new()
        .env("CHARGESPLIT_STATE", state.path().to_str().unwrap())
        .env("CHARGESPLIT_AS", "office")
        .env("TZ", "UTC")
        .case("scenarios/*.trycmd")
        .case("README.md");
}

#[test]
fn the_readme_begins_with_the_two_commands() {
    let readme = include_str!("../README.md");
    let block = readme.split("```sh\n").nth(1).and_then(|rest| rest.split("```").next());
    assert_eq!(block, Some("cargo run --release -- plan scenarios/cold-store.yaml\ncargo test\n"));
}
