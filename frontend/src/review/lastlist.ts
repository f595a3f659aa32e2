/** The list as it was filtered last, so that the way back leads there. */
let query = "";

export function rememberList(params: string): void {
  query = params;
}

export const lastList = (): URLSearchParams => new URLSearchParams(query);
