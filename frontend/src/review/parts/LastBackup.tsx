import { useEffect, useState } from "preact/hooks";
import type { BackupStanding, Person } from "../../types.gen";
import { Notice } from "../../ui";
import { ask } from "../api";
import { oversees } from "../roles";
import type { Page } from "../route";
import { backupWords } from "./lastBackup";

/** Stands over every page while the last backup is too old, for those who see to that: for every site. */
export function LastBackup({ person, page }: { person: Person; page: Page }) {
  const [standing, setStanding] = useState<BackupStanding | null>(null);
  const may = oversees(person.role) && person.site === null;
  useEffect(() => {
    if (!may) return;
    let gone = false;
    void ask<BackupStanding>("/api/backup").then((answer) => {
      if (!gone && answer.state === "ready") setStanding(answer.value);
    });
    return () => {
      gone = true;
    };
  }, [may, page]);
  const words = standing && backupWords(standing, Date.now());
  if (!words) return null;
  return (
    <div class="desk-backup">
      <Notice kind="warn" title={words.title}>
        <p>{words.what}</p>
      </Notice>
    </div>
  );
}
