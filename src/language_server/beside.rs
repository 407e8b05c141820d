//! What an editor shows beside a text: what can be folded, addresses and bytes, sizes and times, colours.

use lsp_types::{
    CodeLens, Command, FoldingRange, FoldingRangeKind, InlayHint, InlayHintLabel, Range, SemanticToken,
    SemanticTokenType, SemanticTokens,
};

use super::answers::Answers;
use coldwright::language::{self, Colour};
use coldwright::source::{Position, SourceId, Span};

/// The kinds of words in the terms of the protocol, in the order of their numbers.
pub fn legend() -> Vec<SemanticTokenType> {
    Colour::ALL.into_iter().map(kind).collect()
}

fn kind(colour: Colour) -> SemanticTokenType {
    match colour {
        Colour::Instruction => SemanticTokenType::KEYWORD,
        Colour::Directive => SemanticTokenType::DECORATOR,
        Colour::Register => SemanticTokenType::PARAMETER,
        Colour::Operator => SemanticTokenType::OPERATOR,
        Colour::Label => SemanticTokenType::FUNCTION,
        Colour::Constant => SemanticTokenType::ENUM_MEMBER,
        Colour::Variable => SemanticTokenType::VARIABLE,
        Colour::Macro => SemanticTokenType::MACRO,
        Colour::Number => SemanticTokenType::NUMBER,
        Colour::Text => SemanticTokenType::STRING,
        Colour::Comment => SemanticTokenType::COMMENT,
    }
}

impl Answers<'_> {
    /// What of a text can be folded.
    pub fn folds(&self, source: SourceId) -> Vec<FoldingRange> {
        let line = |offset| self.range(Position { source, offset }.span()).start.line;
        let fold = |fold: language::Fold| FoldingRange {
            start_line: line(fold.first),
            end_line: line(fold.last),
            kind: fold.is_comment.then_some(FoldingRangeKind::Comment),
            ..FoldingRange::default()
        };
        language::folds(self.view, source).into_iter().map(fold).collect()
    }

    /// Addresses and bytes behind the lines of a part of a text.
    pub fn hints(&self, source: SourceId, part: Range) -> Vec<InlayHint> {
        let hint = |(offset, label)| {
            let position = self.range(Position { source, offset }.span()).start;
            let is_in_part = (part.start.line..=part.end.line).contains(&position.line);
            is_in_part.then(|| InlayHint {
                position,
                label: InlayHintLabel::String(label),
                kind: None,
                text_edits: None,
                tooltip: None,
                padding_left: Some(true),
                padding_right: None,
                data: None,
            })
        };
        language::hints(self.view, source).into_iter().filter_map(hint).collect()
    }

    /// Sizes and times above the lines of a file.
    pub fn lenses(&self, name: &str) -> Vec<CodeLens> {
        let lens = |lens: language::Lens| CodeLens {
            range: self.range(lens.span),
            // It is there to be read: nothing is done when it is chosen.
            command: Some(Command { title: lens.title, command: String::new(), arguments: None }),
            data: None,
        };
        language::lenses(self.view, name).into_iter().map(lens).collect()
    }

    /// What each word of a text is, each counted from the one before.
    pub fn colours(&self, source: SourceId) -> SemanticTokens {
        let (mut data, mut last) = (Vec::new(), lsp_types::Position::default());
        for word in language::coloured(self.view, source) {
            let Range { start, end } = self.range(Span { source, start: word.start, end: word.end });
            let token_type = Colour::ALL.iter().position(|colour| *colour == word.colour).unwrap_or_default() as u32;
            let delta_line = start.line - last.line;
            data.push(SemanticToken {
                delta_line,
                delta_start: if delta_line == 0 { start.character - last.character } else { start.character },
                length: end.character.saturating_sub(start.character),
                token_type,
                token_modifiers_bitset: 0,
            });
            last = start;
        }
        SemanticTokens { result_id: None, data }
    }
}
