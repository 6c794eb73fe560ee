//! What a crate says in sentences: its words stand in a file, its code names them by a type.
//!
//! The sentences of a crate stand in its `words/en.ftl`, as messages of Project Fluent, where
//! whoever mends or translates them needs no Rust. [`messages!`](crate::messages) makes the
//! enum by which its code names them, each with the arguments that it needs: a sentence
//! without one does not compile, and what file and enum do not have in common is found by
//! [`disagreements`], which every crate's own test asks. English is the only language for
//! now. The text is the same on every machine: no locale is asked, no marks of direction
//! stand round arguments, and numbers come written by [`text`](crate::text). What is counted
//! comes as a whole number, so that the file chooses between one and several.

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// The words of one crate in one language.
pub struct Words {
    file: &'static str,
    bundle: FluentBundle<FluentResource>,
    /// What needs no argument, by its id, or by id and attribute with a point between.
    texts: BTreeMap<String, String>,
}

impl fmt::Debug for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Words").field("texts", &self.texts.len()).finish_non_exhaustive()
    }
}

impl Words {
    /// The words of a file of messages.
    ///
    /// *Meaning*: what cannot be read is left out by itself; [`disagreements`] names it.
    ///
    /// ```
    /// use measure::words::Words;
    /// static WORDS: std::sync::LazyLock<Words> = std::sync::LazyLock::new(|| Words::read("hair-fine = fine hair\n    .cure = Look twice."));
    /// assert_eq!(WORDS.text("hair-fine"), Some("fine hair"));
    /// assert_eq!(WORDS.text("hair-fine.cure"), Some("Look twice."));
    /// assert_eq!(WORDS.text("hair-coarse"), None);
    /// ```
    #[must_use]
    pub fn read(file: &'static str) -> Self {
        let mut bundle = FluentBundle::new_concurrent(vec!["en".parse().unwrap_or_default()]);
        bundle.set_use_isolating(false);
        bundle.add_resource_overriding(FluentResource::try_new(file.to_owned()).unwrap_or_else(|(rest, _)| rest));
        let mut words = Self { file, bundle, texts: BTreeMap::new() };
        for key in keys(file) {
            if let Some((text, errors)) = words.formatted(&key, None)
                && errors.is_empty()
            {
                words.texts.insert(key, text);
            }
        }
        words
    }

    /// What stands under an id, or under an attribute of it (`id.cure`), where it needs no argument.
    #[must_use]
    pub fn text(&self, key: &str) -> Option<&str> {
        self.texts.get(key).map(String::as_str)
    }

    /// The words of a message or of its attribute, and what was wrong in writing them.
    fn formatted(&self, key: &str, args: Option<&FluentArgs>) -> Option<(String, Vec<String>)> {
        let (id, attribute) = key.split_once('.').map_or((key, None), |(id, attribute)| (id, Some(attribute)));
        let message = self.bundle.get_message(id)?;
        let pattern = match attribute {
            None => message.value()?,
            Some(name) => message.get_attribute(name)?.value(),
        };
        let mut errors = Vec::new();
        let text = self.bundle.format_pattern(pattern, args, &mut errors).into_owned();
        Some((text, errors.iter().map(ToString::to_string).collect()))
    }
}

/// The ids of a file and their attributes in its order, read without its own reader.
fn keys(file: &str) -> Vec<String> {
    let mut keys = Vec::new();
    let mut id = "";
    for line in file.lines() {
        let Some((name, _)) = line.split_once(" =") else { continue };
        if name.starts_with(|c: char| c.is_ascii_lowercase()) {
            id = name;
            keys.push(id.to_owned());
        } else if let Some(attribute) = name.trim_start().strip_prefix('.') {
            keys.push(format!("{id}.{attribute}"));
        }
    }
    keys
}

/// An argument of a sentence as it comes to the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Given<'a> {
    /// As it is written.
    Text(&'a str),
    /// A number of things: the file may say one thing in other words than several.
    Count(u64),
}

/// What an argument of a sentence may be.
pub trait Argument {
    /// As it comes to the file.
    fn given(&self) -> Given<'_>;
    /// One to try a sentence with: its name in brackets, or the next number.
    fn example(name: &str, next: &mut u32) -> Self;
}

impl Argument for String {
    fn given(&self) -> Given<'_> {
        Given::Text(self)
    }
    fn example(name: &str, _next: &mut u32) -> Self {
        format!("<{name}>")
    }
}

macro_rules! counts {
    ($($kind:ident)+) => {$(
        impl Argument for $kind {
            fn given(&self) -> Given<'_> {
                Given::Count(*self as u64)
            }
            fn example(_name: &str, next: &mut u32) -> Self {
                *next += 1;
                *next as Self - 1
            }
        }
    )+};
}

counts! { u32 u64 usize }

/// A sentence of a crate: a value of the enum that [`messages!`](crate::messages) makes.
pub trait Sentence: Sized {
    /// The words of the crate.
    fn words() -> &'static Words;

    /// Its id in the file.
    fn id(&self) -> &'static str;

    /// What it speaks of, by the names in the file.
    fn arguments(&self) -> Vec<(&'static str, Given<'_>)>;

    /// What is wrong, or is to be known.
    fn says(&self) -> String {
        under(self, self.id()).unwrap_or_else(|| self.id().to_owned())
    }

    /// What a part of the message says (`.how` in the file), where it has that part.
    fn part(&self, name: &str) -> Option<String> {
        under(self, &format!("{}.{name}", self.id()))
    }

    /// What to do, where the message says it; otherwise nothing.
    fn cure(&self) -> String {
        self.part("cure").unwrap_or_default()
    }

    /// The same words at every time, for a sentence that has no arguments.
    fn text(&self) -> &'static str {
        Self::words().text(self.id()).unwrap_or_else(|| self.id())
    }

    /// What to do, for a sentence that has no arguments.
    fn text_of_cure(&self) -> &'static str {
        Self::words().text(&format!("{}.cure", self.id())).unwrap_or_default()
    }
}

/// What stands under a key of the file, with the arguments of a sentence.
fn under<M: Sentence>(sentence: &M, key: &str) -> Option<String> {
    let words = M::words();
    if let Some(text) = words.text(key) {
        return Some(text.to_owned());
    }
    let mut args = FluentArgs::new();
    for (name, given) in sentence.arguments() {
        match given {
            Given::Text(text) => args.set(name, FluentValue::String(Cow::Borrowed(text))),
            Given::Count(count) => args.set(name, count),
        }
    }
    words.formatted(key, Some(&args)).map(|(text, _)| text)
}

/// Every sentence of a crate once, to hold it against the file.
pub trait OneOfEach: Sentence {
    /// Each with examples for its arguments, what is counted from `first` on.
    fn one_of_each(first: u32) -> Vec<Self>;
}

/// Makes the enum by which a crate names its sentences, and reads their file.
///
/// *Meaning*: one line for a sentence: its name in code, its id in the file, its arguments.
/// An argument is text unless it says what it counts as (`u32`, `u64`, `usize`).
///
/// ```
/// measure::messages! {
///     enum Message in "
/// chair-free = a chair is free
///     .cure = Ask her to sit down.
/// hair-long = her hair is { $length } long
///     .cure = Measure again.
/// pieces-left = { $pieces ->
///     [one] one piece is left
///    *[other] { $pieces } pieces are left
/// }
/// ";
///     ChairFree "chair-free",
///     HairLong "hair-long" { length },
///     PiecesLeft "pieces-left" { pieces: usize },
/// }
/// use measure::words::Sentence;
/// let long = Message::HairLong { length: "400 mm".to_owned() };
/// assert_eq!((long.to_string().as_str(), long.cure().as_str()), ("her hair is 400 mm long", "Measure again."));
/// assert_eq!((Message::ChairFree.text(), Message::ChairFree.text_of_cure()), ("a chair is free", "Ask her to sit down."));
/// assert_eq!(Message::PiecesLeft { pieces: 1 }.to_string(), "one piece is left");
/// assert_eq!(Message::PiecesLeft { pieces: 20 }.to_string(), "20 pieces are left");
/// ```
#[macro_export]
macro_rules! messages {
    ($shown:vis enum Message in $file:expr; $($name:ident $id:literal $({ $($argument:ident $(: $kind:ident)?),+ })?),+ $(,)?) => {
        /// A sentence of the crate's file of words, with what it speaks of.
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[allow(missing_docs, reason = "what each says stands in the file of words, under its id")]
        $shown enum Message {
            $($name $({ $($argument: $crate::messages!(@kind $($kind)?)),+ })?),+
        }

        impl $crate::words::Sentence for Message {
            fn words() -> &'static $crate::words::Words {
                static WORDS: ::std::sync::LazyLock<$crate::words::Words> = ::std::sync::LazyLock::new(|| $crate::words::Words::read($file));
                &WORDS
            }

            fn id(&self) -> &'static str {
                match self { $(Self::$name { .. } => $id),+ }
            }

            fn arguments(&self) -> Vec<(&'static str, $crate::words::Given<'_>)> {
                match self {
                    $(Self::$name $({ $($argument),+ })? => vec![$($((stringify!($argument), $crate::words::Argument::given($argument))),+)?]),+
                }
            }
        }

        #[cfg(test)]
        impl $crate::words::OneOfEach for Message {
            fn one_of_each(first: u32) -> Vec<Self> {
                vec![$({
                    let mut _next = first;
                    Self::$name $({ $($argument: $crate::words::Argument::example(stringify!($argument), &mut _next)),+ })?
                }),+]
            }
        }

        impl ::std::fmt::Display for Message {
            /// What is wrong, or is to be known.
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.write_str(&$crate::words::Sentence::says(self))
            }
        }

        impl From<Message> for String {
            fn from(message: Message) -> Self {
                $crate::words::Sentence::says(&message)
            }
        }
    };
    (@kind) => { String };
    (@kind $kind:ident) => { $kind };
}

/// What the file and the enum of a crate do not have in common, and what no sentence may show.
///
/// *Meaning*: `parts` are the attributes that the crate asks its messages for, `also` the ids
/// that it asks for by name, without a message of their own.
/// A key of a file, or an example of how a file is written, means nothing at the chair.
///
/// ```
/// use measure::words::{OneOfEach, disagreements};
/// measure::messages! { enum Message in "hair-fine = fine hair\nhair-lost = lost hair"; HairFine "hair-fine" }
/// impl OneOfEach for Message {
///     fn one_of_each(_: u32) -> Vec<Self> {
///         vec![Self::HairFine]
///     }
/// }
/// assert_eq!(disagreements::<Message>(&[], &[]), ["nothing asks for hair-lost"]);
/// ```
#[must_use]
pub fn disagreements<M: OneOfEach + fmt::Display>(parts: &[&str], also: &[String]) -> Vec<String> {
    let words = M::words();
    let mut found: Vec<String> = match FluentResource::try_new(words.file.to_owned()) {
        Ok(_) => Vec::new(),
        Err((_, errors)) => errors.iter().map(|error| format!("the file cannot be read: {error}")).collect(),
    };
    let keys = keys(words.file);
    let mut once = BTreeSet::new();
    found.extend(keys.iter().filter(|key| !once.insert(key.as_str())).map(|key| format!("{key} stands twice")));
    let messages = M::one_of_each(71);
    let known: BTreeSet<&str> = messages.iter().map(|message| message.id()).chain(also.iter().map(String::as_str)).collect();
    found.extend(known.iter().filter(|id| !once.contains(*id)).map(|id| format!("nothing stands under {id}")));
    // What is no message of its own stands inside others.
    let inside = |id: &str| words.file.contains(&format!("{{ {id} }}"));
    let ids = keys.iter().filter(|key| !key.contains('.'));
    found.extend(ids.filter(|id| !known.contains(id.as_str()) && !inside(id)).map(|id| format!("nothing asks for {id}")));
    for message in [messages, M::one_of_each(0), M::one_of_each(1)].iter().flatten() {
        found.extend(faults_of(message, parts, &keys));
    }
    for key in keys.iter().filter(|key| also.iter().any(|id| key.split('.').next() == Some(id))) {
        let text = words.text(key);
        found.extend(text.is_none().then(|| format!("{key} needs an argument")));
        found.extend(text.filter(|text| shows_a_file(text)).map(|text| format!("{key} shows how a file is written: {text}")));
    }
    found
}

/// What is wrong with one sentence in the file.
fn faults_of<M: Sentence + fmt::Display>(message: &M, parts: &[&str], keys: &[String]) -> Vec<String> {
    let mut found = Vec::new();
    let mut all = message.to_string();
    let own = keys.iter().filter_map(|key| key.strip_prefix(message.id())?.strip_prefix('.'));
    for part in own {
        found.extend((!parts.contains(&part)).then(|| format!("nothing asks for {}.{part}", message.id())));
        all = format!("{all} {}", message.part(part).unwrap_or_default());
    }
    let left = all.contains(['{', '}', '\u{2068}', '\u{2069}']);
    found.extend(left.then(|| format!("{} lacks an argument, or shows a bracket: {all}", message.id())));
    for (name, given) in message.arguments() {
        let (written, in_words) = match given {
            Given::Text(text) => (text.to_owned(), false),
            // One and none may be said in words.
            Given::Count(count) => (count.to_string(), count < 3),
        };
        found.extend((!in_words && !all.contains(&written)).then(|| format!("{} never says {name}", message.id())));
        all = all.replace(&written, "");
    }
    found.extend(shows_a_file(&all).then(|| format!("{} shows how a file is written: {all}", message.id())));
    found
}

/// Whether a key of a file, or an example of how it is written, stands in some words.
fn shows_a_file(text: &str) -> bool {
    let snake = |word: &str| word.contains('_') && word.chars().any(char::is_alphabetic);
    text.split(|c: char| !(c.is_alphanumeric() || c == '_')).any(snake) || text.contains(" = \"") || text.contains(" = [")
}

#[cfg(test)]
mod tests {
    use super::*;

    crate::messages! {
        enum Message in "
good = { $pieces ->
    [one] one piece
   *[other] { $pieces } pieces
} of { $shade }
    .cure = Look at { $shade }.
inner = as always
outer = Done { inner }
mute = Nothing is said.
lacking = { $nobody } comes
keyed = Write own_length_mm again.
unasked = Nobody asks.
extra = Something.
    .other = More.
twice = Once.
twice = Again.
named = By its name.
";
        Good "good" { pieces: usize, shade },
        Outer "outer",
        Mute "mute" { what },
        Lacking "lacking" { somebody },
        Keyed "keyed",
        Extra "extra",
        Twice "twice",
        Gone "gone",
    }

    #[test]
    fn one_and_several_are_told_apart_and_words_without_arguments_stay() {
        let of = |pieces| Message::Good { pieces, shade: "ash".to_owned() };
        assert_eq!([of(1).says(), of(0).says(), of(1200).says()], ["one piece of ash", "0 pieces of ash", "1200 pieces of ash"]);
        assert_eq!((of(2).cure().as_str(), Message::Outer.cure().as_str()), ("Look at ash.", ""));
        assert_eq!((Message::Outer.text(), Message::Outer.text_of_cure()), ("Done as always", ""));
        assert_eq!(Message::words().text("good"), None, "it needs arguments");
        assert_eq!(String::from(Message::Gone), "gone", "an id is better than nothing");
    }

    #[test]
    fn whatever_file_and_messages_do_not_share_is_found() {
        let found: BTreeSet<String> = disagreements::<Message>(&["cure"], &["named".to_owned(), "away".to_owned()]).into_iter().collect();
        let begins = [
            "keyed shows how a file is written",
            "lacking lacks an argument",
            "lacking never says somebody",
            "mute never says what",
            "nothing asks for extra.other",
            "nothing asks for unasked",
            "nothing stands under away",
            "nothing stands under gone",
            "twice stands twice",
        ];
        assert_eq!(found.len(), begins.len(), "{found:#?}");
        for (fault, begin) in found.iter().zip(begins) {
            assert!(fault.starts_with(begin), "{fault}");
        }
    }

    #[test]
    fn how_a_file_is_written_is_seen() {
        assert!(shows_a_file("Write goal = \"both\".") && shows_a_file("leave own_length_mm out") && !shows_a_file("Measure again."));
    }
}
