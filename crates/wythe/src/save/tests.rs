use std::thread;

use super::*;

fn folder_of(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("wythe-save-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn left(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
    names.collect()
}

#[test]
fn nothing_is_lost_when_many_write_at_once() {
    let folder = folder_of("many");
    let file = folder.join("a.yaml");
    new_file(&file, "").unwrap();
    thread::scope(|scope| {
        for writer in 0..8 {
            let file = &file;
            scope.spawn(move || {
                for line in 0..20 {
                    change_file::<Error>(file, |_, text| Ok(format!("{text}{writer} {line}\n"))).unwrap();
                }
            });
        }
    });
    let text = fs::read_to_string(&file).unwrap();
    for writer in 0..8 {
        let own: Vec<&str> = text
            .lines()
            .filter(|line| line.starts_with(&format!("{writer} ")))
            .collect();
        let expected: Vec<String> = (0..20).map(|line| format!("{writer} {line}")).collect();
        assert_eq!(own, expected);
    }
    assert_eq!(left(&folder), ["a.yaml"], "no lock and no part is left");
    fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_new_file_takes_no_other_s_place() {
    let folder = folder_of("new");
    let file = folder.join("a.yaml");
    new_file(&file, "one").unwrap();
    assert!(matches!(new_file(&file, "two"), Err(Error::Exists { .. })));
    assert_eq!(fs::read_to_string(&file).unwrap(), "one");
    assert!(matches!(
        new_file(folder.join("no/a.yaml"), "two"),
        Err(Error::Save { .. })
    ));
    fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_refused_change_leaves_the_file_and_nothing_beside_it() {
    let folder = folder_of("refused");
    let file = folder.join("a.yaml");
    new_file(&file, "one").unwrap();
    let refused = change_file::<Error>(&file, |_, _| Err(Error::Exists { path: PathBuf::new() }));
    assert!(refused.is_err());
    assert_eq!(
        (fs::read_to_string(&file).unwrap().as_str(), left(&folder).len()),
        ("one", 1)
    );
    fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn what_a_stopped_program_left_is_cleared() {
    let folder = folder_of("left");
    let file = folder.join("a.yaml");
    new_file(&file, "one").unwrap();
    fs::write(folder.join(".a.yaml.x1y2z3.part"), "half").unwrap();
    fs::write(folder.join(".a.yaml.lock"), "").unwrap();
    fs::write(folder.join(".b.yaml.x1y2z3.part"), "another's").unwrap();
    change_file::<Error>(&file, |_, text| Ok(format!("{text} two"))).unwrap();
    assert_eq!(fs::read_to_string(&file).unwrap(), "one two");
    let mut names = left(&folder);
    names.sort();
    assert_eq!(names, [".b.yaml.x1y2z3.part", "a.yaml"]);
    fs::remove_dir_all(&folder).unwrap();
}

#[cfg(unix)]
#[test]
fn a_link_is_followed_and_rights_are_kept() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder_of("link");
    let (file, link) = (folder.join("a.yaml"), folder.join("link.yaml"));
    new_file(&file, "one").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    symlink(&file, &link).unwrap();
    change_file::<Error>(&link, |_, _| Ok("two".into())).unwrap();
    assert!(link.symlink_metadata().unwrap().is_symlink());
    assert_eq!(fs::read_to_string(&file).unwrap(), "two");
    assert_eq!(file.metadata().unwrap().permissions().mode() & 0o777, 0o640);
    assert!(matches!(new_file(&link, "three"), Err(Error::Exists { .. })));
    fs::remove_dir_all(&folder).unwrap();
}
