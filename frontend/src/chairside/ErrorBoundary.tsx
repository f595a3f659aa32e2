import { Component, type ComponentChildren } from "preact";
import { Button, Notice } from "../ui";
import { exportUnsent } from "./exporting";
import { EmergencyBody } from "./overlays/EmergencyBody";

/** A fault in drawing must not take the log or the way out away: both stay, and the page can be drawn again. */
export class ErrorBoundary extends Component<{ children: ComponentChildren }, { fault: string | null }> {
  override state = { fault: null as string | null };

  static override getDerivedStateFromError(error: unknown): { fault: string } {
    return { fault: error instanceof Error ? error.message : String(error) };
  }

  override componentDidCatch(error: unknown): void {
    console.error(error);
  }

  override render() {
    if (this.state.fault === null) return <>{this.props.children}</>;
    return (
      <main class="case-main stack">
        <h1>This screen failed</h1>
        <Notice kind="danger" title="What was saved is safe on this phone" loud>
          <p>The fault is in drawing the screen: {this.state.fault}</p>
        </Notice>
        <Button kind="main" wide onClick={() => location.reload()}>
          Load again
        </Button>
        <Button
          wide
          onClick={() => {
            location.hash = "#/";
            this.setState({ fault: null });
          }}
        >
          Go to the cases
        </Button>
        <Button wide icon="save" onClick={() => void exportUnsent()}>
          Save unsent lines as a file
        </Button>
        <h2>In an emergency</h2>
        <EmergencyBody />
      </main>
    );
  }
}
