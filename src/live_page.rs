//! The page of a chain that is built under watch: it loads itself anew when the chain was built anew.
//!
//! A page from a file may ask no server whether it has changed, but it may run a script that lies beside it. That script
//! says which build it belongs to.

use super::files::sum;

/// The script that tells which build this is.
pub const MARK: &str = "watched.js";

/// The page with its mark.
pub struct Live {
    /// The page.
    pub page: String,
    /// The script beside it.
    pub mark: String,
}

/// A page that follows the builds of which `files` are this one's.
pub fn of(page: &str, files: &[(&str, &[u8])]) -> Live {
    let all = files.iter().fold(sum(page.as_bytes()), |all, (name, bytes)| {
        all.rotate_left(1) ^ sum(name.as_bytes()) ^ sum(bytes).rotate_left(7)
    });
    let follow = format!(
        "<script>\n\
         function built(mark) {{ if (mark !== \"{all}\") location.reload(); }}\n\
         setInterval(function () {{\n\
         var script = document.createElement(\"script\");\n\
         script.src = \"{MARK}?\" + Date.now();\n\
         script.onload = script.onerror = function () {{ script.remove(); }};\n\
         document.head.appendChild(script);\n\
         }}, 500);\n\
         </script>\n</body>"
    );
    Live { page: page.replacen("</body>", &follow, 1), mark: format!("built(\"{all}\");\n") }
}
