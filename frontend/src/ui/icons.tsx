/** The few pictures we use, drawn on a 24-unit square. Each stands beside a word, so they are hidden from readers. */

const PATHS = {
  back: ["M15 5 8 12l7 7"],
  forward: ["m9 5 7 7-7 7"],
  tick: ["m5 12.5 4.5 4.5L19 7"],
  cross: ["M6 6l12 12M18 6 6 18"],
  plus: ["M12 5v14M5 12h14"],
  // meaning: a shape of its own for each, so that none rests on its colour
  info: ["M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18Z", "M12 11v5", "M12 7.6v.2"],
  warn: ["M12 3.5 22 20.5H2Z", "M12 10v5", "M12 17.6v.2"],
  danger: ["M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8Z", "M12 7v6", "M12 16.6v.2"],
  practice: ["M4 8V4h4M11 4h2M16 4h4v4M20 11v2M20 16v4h-4M13 20h-2M8 20H4v-4M4 13v-2"],
  // the bottom bar
  comfort: ["M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18Z", "M8.5 14.5c2 2 5 2 7 0", "M9 9.2v.6M15 9.2v.6"],
  event: ["M6 3v18", "M6 4h12l-3 4 3 4H6"],
  emergency: ["M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8Z", "M12 7.5v9M7.5 12h9"],
  clock: ["M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18Z", "M12 7v5l3.500 2"],
  history: ["M5 5h14M5 10h14M5 15h9M5 20h6"],
  // where a thing is saved
  phone: [
    "M8 2.5h8a1.5 1.5 0 0 1 1.5 1.5v16a1.5 1.5 0 0 1-1.5 1.5H8A1.5 1.5 0 0 1 6.5 20V4A1.5 1.5 0 0 1 8 2.5Z",
    "M11 18.5h2",
  ],
  server: ["M4 4h16v6H4ZM4 14h16v6H4Z", "M7.5 7v.1M7.5 17v.1"],
  send: ["M12 20V5M6 11l6-6 6 6"],
  // the rest of the house
  eye: ["M2 12c3-5 6.500-7 10-7s7 2 10 7c-3 5-6.500 7-10 7s-7-2-10-7Z", "M12 9a3 3 0 1 0 0 6 3 3 0 0 0 0-6Z"],
  settings: [
    "M4 7h9M19 7h1M4 17h1M11 17h9",
    "M16 4.500a2.500 2.500 0 1 0 0 5 2.500 2.500 0 0 0 0-5ZM8 14.500a2.500 2.500 0 1 0 0 5 2.500 2.500 0 0 0 0-5Z",
  ],
  call: [
    "M5 3.500h4l2 5-2.500 1.800a12 12 0 0 0 5.200 5.200L15.500 13l5 2v4a1.500 1.500 0 0 1-1.600 1.500C10.500 20 4 13.500 3.500 5.100A1.500 1.500 0 0 1 5 3.500Z",
  ],
  hand: ["M3 12h11M10 6l6 6-6 6M20 4v16"],
  save: ["M12 4v11M6 10l6 6 6-6M4 20h16"],
} as const;

export type IconName = keyof typeof PATHS;

export function Icon({ name }: { name: IconName }) {
  return (
    <svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      {PATHS[name].map((d) => (
        <path key={d} d={d} />
      ))}
    </svg>
  );
}

/** Our mark: a brow line, an eye, and the cup that the chin rests in. */
export function Mark() {
  return (
    <svg class="icon mark" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      <path d="M4 3.500h16" />
      <path d="M12 7.200a3.300 3.300 0 1 0 0 6.600 3.300 3.300 0 0 0 0-6.600Z" />
      <path d="M3.500 14.500a8.500 7 0 0 0 17 0" />
    </svg>
  );
}
