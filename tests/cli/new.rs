//! `new` and `check`: every chain that can be made is proven at once.

use super::chain::{example, run};

#[test]
fn every_new_chain_is_proven() {
    let folder = tempfile::tempdir().unwrap();
    for chip in ["mc6850", "i8251", "uart"] {
        for framing in ["blocks", "intel-hex", "s-record"] {
            for rom in [false, true] {
                let name = format!("{chip}-{framing}-{rom}");
                let mut arguments = vec!["new", &name, "--chip", chip, "--framing", framing];
                if rom {
                    arguments.push("--rom");
                }
                run(folder.path(), &arguments).assert_done();
                run(folder.path(), &["check", &name]).assert_done();
                let ran = run(folder.path(), &["rehearse", &name]);
                ran.assert_done();
                assert!(ran.out.contains("`hello` puts 001 out to port 040 lamps"), "{}", ran.out);
            }
        }
    }
}

#[test]
fn an_existing_folder_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shed")).unwrap();
    run(folder.path(), &["new", "shed"]).assert_fails("file-unwritable", &["it exists already"]);
    run(folder.path(), &["new", "sh\"ed"]).assert_fails("file-unwritable", &["a name is letters"]);
    run(folder.path(), &["check", "shed"]).assert_fails("file-unreadable", &["`coldwright new NAME` makes a chain"]);
}

#[test]
fn check_says_that_all_is_well() {
    for name in ["belfry", "rooster", "lineboot", "probe"] {
        let ran = run(&example(name), &["check"]);
        ran.assert_done();
        assert!(ran.out.ends_with("all is well\n"), "{}", ran.out);
        let json: serde_json::Value = serde_json::from_str(&run(&example(name), &["check", "--json"]).out).unwrap();
        assert_eq!(json["chain"], name);
    }
}
