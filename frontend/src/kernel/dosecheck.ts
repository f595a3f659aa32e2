/** The pack's check vectors of the dose arithmetic, asked again on this phone: every text must be the same. */
import type { DoseVector, Pack } from "../types.gen";
import { workDose } from "./dose";
import { InputError } from "./shape";

type DoseParts = Partial<Pick<Pack, "dosing" | "dyes" | "dose_vectors">>;

/** Words for each disagreement. A pack without dose rules needs no vectors. */
export function checkDoses(pack: DoseParts): string[] {
  const { dosing = null, dyes = [], dose_vectors = [] } = pack;
  if (dyes.length > 0 && dose_vectors.length === 0) return ["the pack carries no check vectors for the dose"];
  return dose_vectors.flatMap((vector, i) => {
    const got = show(asked({ dosing, dyes }, vector));
    const wanted = show(vector);
    return got === wanted ? [] : [`dose, check ${i + 1}: is ${got} here and ${wanted} in the pack`];
  });
}

function asked(pack: Pick<Pack, "dosing" | "dyes">, { request }: DoseVector): Partial<DoseVector> {
  try {
    return workDose(pack, request);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { refused: [error.field, error.why] };
  }
}

const PARTS = ["dose_mg", "volume_ml", "drawn_mg", "capped", "per_kg", "total_per_kg", "working"] as const;

function show(answer: Partial<DoseVector>): string {
  if (answer.refused) return answer.refused.join(": ");
  if (answer.stop) return `${answer.stop.code}: ${answer.stop.reason}`;
  return PARTS.map((part) => `${part} ${answer[part] ?? "none"}`).join(", ");
}
