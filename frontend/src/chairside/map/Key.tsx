/** What the lines and patterns of the map mean. */
export function Key({ dark }: { dark: boolean }) {
  return (
    <dl class="retina-key" aria-label="What the map shows">
      <Row word="Taken">
        <rect class="retina-shown" x="0.5" y="0.5" width="7" height="4" />
        <rect class="retina-field retina-taken" x="0.5" y="0.5" width="7" height="4" />
      </Row>
      <Row word="Planned, or to be taken again">
        <rect class="retina-field retina-open" x="0.5" y="0.5" width="7" height="4" />
      </Row>
      <Row word="Asked for, and no field shows it">
        <path class="retina-key-gap" d="M1 4.500 4 .5M3 4.500 6 .5M5 4.500 8 .5" />
      </Row>
      {dark && (
        <Row word="Marked as too dark">
          <path
            class="retina-key-dark"
            d="M1.500 1.500v.01M4 1.500v.01M6.500 1.500v.01M1.500 3.500v.01M4 3.500v.01M6.500 3.500v.01"
          />
        </Row>
      )}
    </dl>
  );
}

function Row({ word, children }: { word: string; children: preact.ComponentChildren }) {
  return (
    <>
      <dt>
        <svg viewBox="0 0 8 5" aria-hidden="true" focusable="false">
          {children}
        </svg>
      </dt>
      <dd>{word}</dd>
    </>
  );
}
