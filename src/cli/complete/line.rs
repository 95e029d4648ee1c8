//! A command line as a shell has it: its words without their quotes, and a name written so that the shell takes it as
//! one word. Nothing is expanded: a dollar sign is a dollar sign.

/// The quotes that the cursor stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quotes {
    None,
    Single,
    Double,
}

/// A line up to the cursor.
#[derive(Debug)]
pub(super) struct CommandLine {
    /// Its words as the command would get them; the last is the one at the cursor, which may be empty.
    pub words: Vec<String>,
    quotes: Quotes,
    /// How many characters of the last word stand before what the shell replaces: up to the quotes that are open, or to
    /// the last character at which the shell begins anew.
    kept: usize,
}

impl CommandLine {
    /// Takes a line apart. `breaks` are the characters at which the shell begins a word anew though it is one.
    pub fn read(text: &str, breaks: &str) -> Self {
        let mut line = Self { words: vec![String::new()], quotes: Quotes::None, kept: 0 };
        let mut between = true;
        let mut typed = text.chars().peekable();
        while let Some(c) = typed.next() {
            if between && c.is_ascii_whitespace() {
                continue;
            }
            match (line.quotes, c) {
                (Quotes::None, c) if c.is_ascii_whitespace() => {
                    line.words.push(String::new());
                    line.kept = 0;
                    between = true;
                    continue;
                }
                (Quotes::None, '\'') => line.open(Quotes::Single),
                (Quotes::None, '"') => line.open(Quotes::Double),
                (Quotes::Single, '\'') | (Quotes::Double, '"') => line.close(),
                (Quotes::None, '\\') => typed.next().into_iter().for_each(|c| line.push(c)),
                (Quotes::Double, '\\') => {
                    let next = typed.next_if(|next| matches!(next, '"' | '\\' | '$' | '`'));
                    line.push(next.unwrap_or('\\'));
                }
                (_, c) => line.push(c),
            }
            between = false;
            if line.quotes == Quotes::None && breaks.contains(c) && !matches!(c, '"' | '\'' | '\\') {
                line.kept = line.last().chars().count();
            }
        }
        line
    }

    fn last(&self) -> &str {
        self.words.last().map_or("", String::as_str)
    }

    fn push(&mut self, c: char) {
        if let Some(word) = self.words.last_mut() {
            word.push(c);
        }
    }

    fn open(&mut self, quotes: Quotes) {
        self.quotes = quotes;
        self.kept = self.last().chars().count();
    }

    fn close(&mut self) {
        self.quotes = Quotes::None;
        self.kept = 0;
    }

    /// A whole word in place of the last one, as bash is to insert it: without what is kept, and quoted so that it stays
    /// this word. `None` where these quotes can't hold it.
    pub fn for_bash(&self, word: &str) -> Option<String> {
        let rest = word.chars().skip(self.kept);
        // History is expanded in double quotes too, and a backslash before the mark would stay.
        if self.quotes == Quotes::Double && word.contains('!') {
            return None;
        }
        let mut inserted = String::new();
        for c in rest {
            match self.quotes {
                Quotes::Single if c == '\'' => inserted.push_str("'\\''"),
                Quotes::Double if matches!(c, '"' | '\\' | '$' | '`') => inserted.extend(['\\', c]),
                Quotes::None if !is_plain(c) => inserted.extend(['\\', c]),
                Quotes::Single | Quotes::Double | Quotes::None => inserted.push(c),
            }
        }
        Some(inserted)
    }
}

/// Whether a character means nothing to the shell wherever it stands.
fn is_plain(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | '/' | '+' | ',' | '%')
}

#[cfg(test)]
mod tests {
    use super::*;

    const BREAKS: &str = " \t\n\"'@><=;|&(:";

    fn words(text: &str) -> Vec<String> {
        CommandLine::read(text, BREAKS).words
    }

    #[test]
    fn words_are_taken_apart_as_a_shell_does_and_nothing_is_expanded() {
        assert_eq!(words("weigh job.yaml "), ["weigh", "job.yaml", ""]);
        assert_eq!(words("  weigh   my\\ job 'a b'\"c \\\"d\"e"), ["weigh", "my job", "a bc \"de"]);
        assert_eq!(words("plan $(x) `y` \"$HOME\" ~"), ["plan", "$(x)", "`y`", "$HOME", "~"]);
        assert_eq!(words("plan --keep \"C 1"), ["plan", "--keep", "C 1"]);
        assert_eq!(words("plan ''"), ["plan", ""]);
        assert_eq!(words("\\"), [""]);
    }

    #[test]
    fn a_name_is_written_for_the_place_where_it_goes() {
        let inserted = |text: &str, word: &str| CommandLine::read(text, BREAKS).for_bash(word);
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(inserted("weigh j ", "a b$(c)"), some("a\\ b\\$\\(c\\)"));
        assert_eq!(inserted("weigh j 'a", "a b$'c"), some("a b$'\\''c"));
        assert_eq!(inserted("weigh j \"a", "a b$\"c`"), some("a b\\$\\\"c\\`"));
        assert_eq!(inserted("weigh j \"a", "a!"), None);
        assert_eq!(inserted("plan j --keep=C", "--keep=C-1"), some("C-1"));
        assert_eq!(inserted("plan j --keep='C", "--keep=C-1"), some("C-1"));
        assert_eq!(inserted("weigh j A:", "A:1:2"), some("1\\:2"));
        assert_eq!(inserted("weigh j A\\:", "A:1"), some("A\\:1"));
    }
}
