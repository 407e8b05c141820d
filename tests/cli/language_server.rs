//! `language-server`: what an editor is answered over the two streams.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use serde_json::{Value, json};

use crate::bench::Bench;

/// A source with a name that no line defines; `AGAIN` is near to it.
const WRONG: &str = "\tORG 0\nAGAIN:\tMVI A,5\n\tJMP AGIAN\n\tEND\n";

/// An editor with the server that it started.
struct Editor {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    asked: i64,
}

impl Editor {
    fn new(bench: &Bench) -> Editor {
        let mut child = bench.command(&["language-server"]).stdin(Stdio::piped()).spawn().unwrap();
        let (to, from) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        let mut editor = Editor { child, to, from, asked: 0 };
        assert_eq!(
            editor.ask("initialize", json!({ "capabilities": {} }))["result"]["capabilities"]["hoverProvider"],
            true
        );
        editor
    }

    fn raw(&mut self, text: &str) {
        self.to.write_all(text.as_bytes()).unwrap();
        self.to.flush().unwrap();
    }

    fn send(&mut self, message: Value) {
        let text = message.to_string();
        self.raw(&format!("Content-Length: {}\r\n\r\n{text}", text.len()));
    }

    fn next(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            assert_ne!(self.from.read_line(&mut line).unwrap(), 0, "the server has gone");
            match line.trim().split_once(": ") {
                Some((_, value)) => length = value.parse().unwrap(),
                None => break,
            }
        }
        let mut content = vec![0; length];
        self.from.read_exact(&mut content).unwrap();
        serde_json::from_slice(&content).unwrap()
    }

    fn tell(&mut self, method: &str, params: Value) {
        self.send(json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        self.asked += 1;
        self.send(json!({ "jsonrpc": "2.0", "id": self.asked, "method": method, "params": params }));
        loop {
            let said = self.next();
            if said["id"] == self.asked {
                return said;
            }
        }
    }

    fn open(&mut self, uri: &str, text: &str) {
        let document = json!({ "uri": uri, "languageId": "asm", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    /// What is asked of a place in a text.
    fn at(&mut self, method: &str, uri: &str, line: u32, character: u32) -> Value {
        let place = json!({ "line": line, "character": character });
        let asked =
            json!({ "textDocument": { "uri": uri }, "position": place, "context": { "includeDeclaration": true } });
        self.ask(method, asked)["result"].take()
    }

    fn problems(&mut self) -> Value {
        let said = self.next();
        assert_eq!(said["method"], "textDocument/publishDiagnostics", "{said}");
        said["params"]["diagnostics"].clone()
    }

    fn leave(mut self) -> Option<i32> {
        self.ask("shutdown", Value::Null);
        self.tell("exit", Value::Null);
        self.child.wait().unwrap().code()
    }
}

fn uri(bench: &Bench, name: &str) -> String {
    let path = bench.path(name).display().to_string().replace('\\', "/");
    format!("file://{}{path}", if path.starts_with('/') { "" } else { "/" })
}

#[test]
fn a_mistake_is_told_as_the_command_line_tells_it_and_goes_when_it_is_mended() {
    let bench = Bench::new();
    let file = uri(&bench, "typed.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, WRONG);
    let told = editor.problems();
    assert_eq!(told[0]["code"], "symbol-undefined");
    assert!(told[0]["message"].as_str().unwrap().contains("did you mean `AGAIN`?"), "{told}");
    assert_eq!(told[0]["range"]["start"], json!({ "line": 2, "character": 5 }));
    let range = told[0]["range"].clone();
    let change = json!({ "range": range, "text": "AGAIN" });
    editor.tell(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": file, "version": 2 }, "contentChanges": [change] }),
    );
    assert_eq!(editor.problems(), json!([]));
    let start = editor.at("textDocument/definition", &file, 2, 6)[0]["range"]["start"].clone();
    assert_eq!(start, json!({ "line": 1, "character": 0 }));
    assert_eq!(editor.at("textDocument/references", &file, 2, 6).as_array().unwrap().len(), 2);
    assert_eq!(editor.leave(), Some(0));
}

#[test]
fn what_cannot_be_understood_is_refused_and_the_next_question_answered() {
    let bench = Bench::new();
    let file = uri(&bench, "bell.asm");
    let mut editor = Editor::new(&bench);
    editor.raw("Content-Length: 3\r\n\r\n{{{");
    let refused = editor.next();
    assert_eq!((&refused["id"], &refused["error"]["code"]), (&Value::Null, &json!(-32700)));
    assert_eq!(editor.ask("no/such", json!({}))["error"]["code"], -32601);
    assert_eq!(editor.ask("textDocument/hover", json!({ "odd": 1 }))["error"]["code"], -32602);
    // A file that is not open, and one that is there no more.
    let asked = json!({ "textDocument": { "uri": file }, "position": { "line": 1, "character": 2 } });
    assert_eq!(editor.ask("textDocument/hover", asked)["error"]["code"], -32602);
    editor.open(&file, "\tINCLUDE 'gone.asm'\n\tEND\n");
    assert_eq!(editor.problems()[0]["code"], "include-missing");
    assert_eq!(editor.leave(), Some(0));
}

/// Whatever was typed before, the answers are those of a server that sees the text for the first time.
#[test]
fn after_edits_the_answers_are_those_of_a_fresh_server() {
    let bench = Bench::new();
    let file = uri(&bench, "typed.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, "");
    editor.problems();
    let mut text = String::new();
    for (version, line) in WRONG.split_inclusive('\n').rev().enumerate() {
        let start = json!({ "line": 0, "character": 0 });
        let change = json!({ "range": { "start": start, "end": start }, "text": line });
        let document = json!({ "uri": file, "version": version + 2 });
        editor.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
        text.insert_str(0, line);
        let mut fresh = Editor::new(&bench);
        fresh.open(&file, &text);
        for (method, line, character) in
            [("textDocument/hover", 1, 8), ("textDocument/completion", 2, 5), ("textDocument/documentSymbol", 0, 0)]
        {
            let answers = [&mut editor, &mut fresh].map(|it| it.at(method, &file, line, character));
            assert_eq!(answers[0], answers[1], "{method} of {text:?}");
        }
        assert_eq!(fresh.leave(), Some(0));
    }
    assert_eq!(editor.leave(), Some(0));
}
