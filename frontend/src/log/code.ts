/** Enrolment codes: eight characters of an alphabet without I, L, O and U, written as XXXX-XXXX. */

/** What was typed or scanned, in the code's own writing; letters that look like digits count as the digits. */
export function tidyCode(text: string): string {
  const plain = text
    .toUpperCase()
    .replace(/[IL]/g, "1")
    .replace(/O/g, "0")
    .replace(/[^0-9A-HJKMNP-TV-Z]/g, "")
    .slice(0, 8);
  return plain.length > 4 ? `${plain.slice(0, 4)}-${plain.slice(4)}` : plain;
}
