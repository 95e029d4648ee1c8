//! What the documents list is what the code has: rooms, commands, ceilings, keys.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::process::Command;

use chargesplit::cylinder::CeilingKind;

fn developers() -> String {
    fs::read_to_string("DEVELOPERS.md").unwrap()
}

fn readme() -> String {
    fs::read_to_string("README.md").unwrap()
}

#[test]
fn every_room_stands_in_the_picture_and_on_the_map() {
    let (developers, map) = (developers(), fs::read_to_string("src/lib.rs").unwrap());
    let picture = developers.split("```").nth(1).expect("the picture is the first block");
    let rooms: Vec<String> = fs::read_dir("src")
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_type().unwrap().is_dir())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    assert!(rooms.len() >= 10);
    for room in rooms {
        assert!(picture.lines().any(|line| line.starts_with(&format!("{room} "))), "{room} isn't in the picture");
        assert!(map.contains(&format!("| [`{room}`] |")), "{room} isn't on the map of the library");
    }
}

#[test]
fn every_command_stands_in_the_readme() {
    let help = Command::new(env!("CARGO_BIN_EXE_chargesplit")).arg("--help").output().unwrap().stdout;
    let help = String::from_utf8(help).unwrap();
    let listed = help.split("Commands:").nth(1).and_then(|rest| rest.split("Options:").next()).unwrap();
    let commands: Vec<&str> = listed
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .collect();
    assert!(commands.len() >= 8, "{commands:?}");
    for command in commands {
        assert!(readme().contains(&format!("`{command} ")), "README says nothing of `{command}`");
    }
}

#[test]
fn every_ceiling_stands_in_both_documents() {
    for kind in CeilingKind::ALL {
        assert!(readme().contains(&format!("| {} |", kind.name())), "{}", kind.name());
        assert!(developers().contains(&format!("`{}`", kind.name())), "{}", kind.name());
    }
}
