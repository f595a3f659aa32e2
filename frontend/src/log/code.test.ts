import { describe, expect, it } from "vitest";
import { tidyCode } from "./code";

// The alphabet and the reading of I, L and O follow D. Crockford's description of his base 32 (from memory).
describe("tidyCode", () => {
  it("writes a code as it is printed", () => {
    expect(tidyCode("7k3m q9zd")).toBe("7K3M-Q9ZD");
    expect(tidyCode("7K3M-Q9ZD")).toBe("7K3M-Q9ZD");
  });
  it("reads letters that look like digits", () => expect(tidyCode("OIL1-0000")).toBe("0111-0000"));
  it("stops at eight and leaves a half-typed code alone", () => {
    expect(tidyCode("7K3MQ9ZDXXXX")).toBe("7K3M-Q9ZD");
    expect(tidyCode("7K3M")).toBe("7K3M");
    expect(tidyCode("7K3MU")).toBe("7K3M");
  });
});
