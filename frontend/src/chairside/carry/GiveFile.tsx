import { useState } from "preact/hooks";
import { Button } from "../../ui";
import { saveFile } from "../exporting";

/** Ways to let a file go: the phone's share sheet where it takes files, and a download everywhere. */
export function GiveFile({ name, text }: { name: string; text: string }) {
  const [trouble, setTrouble] = useState("");
  // plain text: the one kind of ours that share sheets take
  const file = new File([text], name, { type: "text/plain" });
  const can = typeof navigator.canShare === "function" && navigator.canShare({ files: [file] });

  const share = async (): Promise<void> => {
    setTrouble("");
    try {
      await navigator.share({ files: [file], title: name });
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return; // put away by the person
      setTrouble("The phone would not share the file. Save it, and send it from there.");
    }
  };
  return (
    <>
      <div class="row">
        {can && (
          <Button icon="send" onClick={() => void share()}>
            Share the file
          </Button>
        )}
        <Button icon="save" onClick={() => saveFile(file, name)}>
          Save the file
        </Button>
      </div>
      {trouble && <p role="alert">{trouble}</p>}
    </>
  );
}
