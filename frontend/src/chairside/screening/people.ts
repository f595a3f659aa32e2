/** Who is who, by initials or a staff id. Pure. */

/** Initials as compared: case, points and spaces do not make another person. */
export function samePerson(one: string | null, other: string): boolean {
  const tidy = (text: string): string => text.toLowerCase().replaceAll(/[\s.]/g, "");
  return one !== null && tidy(one) !== "" && tidy(one) === tidy(other);
}
