import { useState } from "preact/hooks";
import { Button, TextField } from "../../ui";
import { type Filters, isFiltered, paramsOf } from "../filters";
import { hrefOf } from "../route";
import { keepViews, keptViews, tidyQuery, type View, withView } from "../views";

/** Named filters as links. They stay in this browser: nothing of them goes to the server. */
export function SavedViews({ person, filters }: { person: string; filters: Filters }) {
  const [views, setViews] = useState(() => keptViews(person));
  const [naming, setNaming] = useState(false);
  const [name, setName] = useState("");
  const [kept, setKept] = useState(true);
  const here = tidyQuery(paramsOf(filters).toString());
  const keep = (changed: View[]) => {
    setViews(changed);
    setKept(keepViews(person, changed));
  };
  const save = (event: Event) => {
    event.preventDefault();
    if (!name.trim()) return;
    keep(withView(views, name, here));
    setName("");
    setNaming(false);
  };
  const can = isFiltered(filters) || filters.practice;
  if (views.length === 0 && !can) return null;
  return (
    <div class="desk-views">
      <nav aria-label="Saved views">
        <ul>
          {views.map((view) => (
            <li key={view.name}>
              <a
                class="desk-view-link"
                href={hrefOf("incidents", null, new URLSearchParams(view.query))}
                {...(view.query === here ? { "aria-current": "true" as const } : {})}
              >
                {view.name}
              </a>
              <Button
                kind="quiet"
                icon="cross"
                aria-label={`Delete the view ${view.name}`}
                onClick={() => keep(views.filter((other) => other.name !== view.name))}
              >
                <span class="only-heard">Delete</span>
              </Button>
            </li>
          ))}
        </ul>
      </nav>
      {can && !naming && <Button onClick={() => setNaming(true)}>Save this view</Button>}
      {naming && (
        <form class="desk-view-name" aria-label="Save this view" onSubmit={save}>
          <TextField label="Name of the view" value={name} onText={setName} maxLength={60} />
          <Button kind="main" type="submit" disabled={!name.trim()}>
            Save
          </Button>
          <Button onClick={() => setNaming(false)}>Leave</Button>
        </form>
      )}
      {!kept && <p role="status">This browser keeps nothing: the views last until the page is closed.</p>}
    </div>
  );
}
