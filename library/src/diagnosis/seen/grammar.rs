//! The grammar of one observation.

use chumsky::input::ValueInput;
use chumsky::prelude::*;

use super::token::Token;
use super::what::{Light, Shown, State, What};
use crate::faults::Compared;
use crate::notation::{Address, Notation, NumberError};
use crate::panel::StatusLamps;

/// What a parser here returns beside its value.
type Fault<'t> = extra::Err<Rich<'t, Token<'t>>>;

/// One observation, whole: `halted at 000157` is two things in one.
pub(super) fn observation<'t, I>(notation: Notation) -> impl Parser<'t, I, Vec<What>, Fault<'t>>
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    let word = number(notation, u16::MAX).boxed();
    let address = match notation {
        // Split octal is two numbers, unless a colon makes them one.
        Notation::SplitOctal => {
            let half = number(notation, 0o377);
            half.clone().then(half).map(|(high, low)| high << 8 | low).or(word).labelled("an address").boxed()
        }
        Notation::Octal | Notation::Hexadecimal => word.labelled("an address").boxed(),
    };
    let byte = number(notation, 0o377).labelled("a byte").boxed();

    let state = select! {
        Token::Halted => State::Halted,
        Token::Running => State::Running,
        Token::Stopped => State::Stopped,
    }
    .labelled("`halted`, `running` or `stopped`");
    let state = state.then(just(Token::At).ignore_then(shown(address.clone())).or_not()).map(|(state, at)| {
        let at = at.map(|at| What::Address(if state == State::Halted { halted_at(at) } else { at }));
        [What::State(state)].into_iter().chain(at).collect::<Vec<_>>()
    });

    let lights = just(Token::Address).ignore_then(shown(address.clone())).map(What::Address);
    let data = just(Token::Data).ignore_then(shown(byte.clone())).map(What::Data);
    let status = status().then(light()).map(|(lamp, light)| What::Status(lamp, light));
    let port = just(Token::Port).ignore_then(byte.clone());
    let lamp = just(Token::Lamp)
        .ignore_then(bit())
        .then_ignore(just(Token::Of))
        .then(port.clone())
        .then(light())
        .map(|((bit, port), light)| What::Lamp { port: low(port), bit, light });
    let port = port
        .then_ignore(just(Token::Shows))
        .then(shown(byte.clone()))
        .map(|(port, shown)| What::Port(low(port), shown));
    let name = select! { Token::Name(name) => name.to_owned(), Token::Text(name) => name.to_owned() };
    let tape = just(Token::Tape).ignore_then(name.labelled("the tape's name").or_not()).then(tape_does());
    let tape = tape.map(|(name, ran_out)| What::Tape { name, ran_out });
    let text = select! { Token::Text(text) => text.to_owned(), Token::Nothing => String::new() };
    let terminal = just(Token::Terminal)
        .ignore_then(just(Token::Shows))
        .ignore_then(text.labelled("what it shows in double quotes"))
        .map(What::Terminal);
    let differs = just(Token::Differs).ignore_then(just(Token::At)).ignore_then(address.clone());
    let differs = differs.then_ignore(just(Token::Holds).or(just(Token::With)).or_not()).then(byte.clone());
    let differs = differs.map(|(at, found)| Compared::Differs { at: Address(at), found: low(found) });
    let agrees = just(Token::Agrees).to(Compared::Agrees).labelled("`agrees` or `differs at`");
    let listing = just(Token::Listing).ignore_then(name.labelled("the name of its stage")).map(Some);
    let listing = just(Token::Sheet).to(None).or(listing).then(agrees.or(differs));
    let listing = listing.map(|(name, shows)| What::Listing { name, shows });
    let memory = address
        .then_ignore(just(Token::Holds))
        .then(byte)
        .map(|(address, byte)| What::Memory(Address(address), low(byte)));

    let single = choice((lights, data, lamp, port, tape, terminal, listing, status, memory)).map(|what| vec![what]);
    state.or(single).then_ignore(end())
}

/// Who says where a machine has halted reads the lights, which show the byte behind the HLT, or has looked the HLT up in a listing.
fn halted_at(at: Shown) -> Shown {
    match at {
        Shown::Steady(at) => Shown::OneOf(vec![at, at.wrapping_add(1)]),
        at => at,
    }
}

fn low(byte: u16) -> u8 {
    byte.to_le_bytes()[0]
}

/// What a bank of lamps shows, in numbers of one kind.
fn shown<'t, I, P>(number: P) -> impl Parser<'t, I, Shown, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
    P: Parser<'t, I, u16, Fault<'t>> + Clone,
{
    let between = number.clone().then_ignore(just(Token::To)).then(number.clone());
    let between = between.map(|(one, other)| Shown::Between(one.min(other), one.max(other)));
    let several = number.separated_by(just(Token::Or)).at_least(1).collect::<Vec<_>>();
    let several = several.map(|list| match list[..] {
        [one] => Shown::Steady(one),
        _ => Shown::OneOf(list),
    });
    let numbers = between.or(several);
    let changing = just(Token::Flickers).ignore_then(numbers.clone().or_not()).map(|numbers| match numbers {
        // What flickers and is one number is no number at all.
        None | Some(Shown::Steady(_)) => Shown::Flickers,
        Some(numbers) => numbers,
    });
    changing.or(numbers)
}

fn light<'t, I>() -> impl Parser<'t, I, Light, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    select! { Token::Lit => Light::Lit, Token::Dark => Light::Dark, Token::Flickers => Light::Flickers }
        .labelled("`lit`, `dark` or `flickers`")
}

/// A status light by the name that stands beside it.
fn status<'t, I>() -> impl Parser<'t, I, StatusLamps, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    let named = |name: &str| {
        StatusLamps::NAMES.into_iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, lamp)| lamp)
    };
    any()
        .try_map(move |token: Token<'t>, span| {
            let lamp = match token {
                Token::Name(name) => named(name),
                Token::Out => named("OUT"),
                _ => None,
            };
            lamp.ok_or_else(|| Rich::custom(span, ""))
        })
        .labelled("the name of a status light")
}

/// The number of a lamp: 0 to 7, the same in every notation.
fn bit<'t, I>() -> impl Parser<'t, I, u8, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    select! { Token::Number(text) => text }.labelled("the lamp's number, 0 to 7").validate(
        |text: &str, at, mistakes| {
            text.parse().ok().filter(|bit| *bit <= 7).unwrap_or_else(|| {
                mistakes.emit(Rich::custom(at.span(), format!("`{text}` is no lamp of a port: they are 0 to 7")));
                0
            })
        },
    )
}

fn tape_does<'t, I>() -> impl Parser<'t, I, bool, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    let out = just(Token::Ran).then(just(Token::Out)).to(true);
    let on = just(Token::Still).or_not().then(just(Token::Running)).to(false);
    out.or(on).labelled("`ran out` or `still runs`")
}

/// A number up to `most`, with a radix of its own or in the panel's.
fn number<'t, I>(notation: Notation, most: u16) -> impl Parser<'t, I, u16, Fault<'t>> + Clone
where
    I: ValueInput<'t, Token = Token<'t>, Span = SimpleSpan>,
{
    let digits = select! {
        Token::Number(text) => text,
        Token::Name(text) if notation == Notation::Hexadecimal && text.bytes().all(|digit| digit.is_ascii_hexdigit()) => text,
    };
    digits.labelled("a number").validate(move |text: &str, at, mistakes| {
        let reason = match notation.read_typed(text) {
            Ok(number) if number <= most => return number,
            Ok(_) => format!("`{text}` is larger than a byte, which is at most {}", notation.byte(0o377)),
            Err(NumberError::TooLarge) => format!("`{text}` is larger than the highest address"),
            Err(_) => format!("`{text}` is not a number in {}", notation.name()),
        };
        mistakes.emit(Rich::custom(at.span(), reason));
        0
    })
}
