/**
 * Free text that looks like a person. A case is known by the clinic's code; names, dates of birth and numbers of
 * persons stay out of the log. This only warns: it cannot know, and a wrong guess must not stop the work.
 */

const TITLE = /\b(mr|mrs|ms|miss|mx|dr|prof|herr|frau|mme|madame|monsieur|señora?|signora?)\b\.?\s+\p{L}/iu;
const DATE = /\b\d{1,2}[./-]\d{1,2}[./-](\d{2}|\d{4})\b|\b(19|20)\d{2}-\d{2}-\d{2}\b/;
const BORN = /\b(born|dob|d\.o\.b|date of birth)\b/i;
const LONG_NUMBER = /(?:\d[ -]?){9,}/;
const MAIL = /\S+@\S+\.\S+/;

/** Words of the trade that are written with a capital, or begin sentences. */
const TRADE = new Set(
  "right left both eye eyes optic face head neck pupil drops dye patient asked told again after before with without no not none first second then the this that when while image images frame frames colour fluorescein indocyanine green iop oct od os study consent light lights glasses nurse doctor clinician interpreter wheelchair tremor january february march april may june july august september october november december monday tuesday wednesday thursday friday saturday sunday".split(
    " ",
  ),
);

/** A sentence that says what it looks like, or null. For notes and other sentences. */
export function looksLikePerson(text: string): string | null {
  if (TITLE.test(text)) return "This looks like a name: it has a title before a word.";
  if (BORN.test(text) || DATE.test(text)) return "This looks like a date of birth.";
  if (MAIL.test(text)) return "This looks like an e-mail address.";
  if (LONG_NUMBER.test(text)) return "This looks like a person's number or a phone number.";
  // two capitalised words in a row, neither of the trade nor all capitals: "Ada Brook", "Brook, Ada". No look behind:
  // a WebKit before 16.4 reads none, and would not read the whole app with it
  const pair = /(?:^|[^\p{L}\d])(\p{Lu}[\p{L}'’-]*\p{Ll}),?\s+(\p{Lu}[\p{L}'’-]*\p{Ll})(?![\p{L}\d])/gu;
  for (const [, first = "", second = ""] of text.matchAll(pair)) {
    if (!TRADE.has(first.toLowerCase()) && !TRADE.has(second.toLowerCase())) {
      return `“${first} ${second}” looks like a name.`;
    }
  }
  return null;
}

/** The same for a case code, which is no sentence: a word without a digit is suspect too. */
export function codeLooksLikePerson(code: string): string | null {
  const said = looksLikePerson(code);
  if (said) return said;
  const word = code.split(/[^\p{L}\p{M}'’\d]+/u).find((w) => /^\p{L}[\p{L}\p{M}'’]{2,}$/u.test(w));
  const allCapitals = word !== undefined && word.length <= 4 && word === word.toUpperCase();
  if (word && !/\d/.test(code)) return `“${word}” may be a name. Use the clinic's case code.`;
  if (word && !allCapitals && /^\p{Lu}\p{Ll}/u.test(word) && !TRADE.has(word.toLowerCase())) {
    return `“${word}” may be a name. Use the clinic's case code.`;
  }
  return null;
}

export const NO_NAMES = "No names, no dates of birth.";
