import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";

/** The browser's history: `back` happens later than it is asked for, and can leave the app. */
class Past {
  entries: { hash: string; state: unknown }[] = [{ hash: "elsewhere", state: null }];
  at = 0;
  private asked = 0;
  constructor(private readonly page: EventTarget) {}
  get state(): unknown {
    return this.entries[this.at]?.state;
  }
  get hash(): string {
    return this.entries[this.at]?.hash ?? "";
  }
  pushState(state: unknown, _title: string, hash: string): void {
    this.entries = [...this.entries.slice(0, this.at + 1), { hash, state }];
    this.at += 1;
  }
  replaceState(state: unknown, _title: string, hash: string): void {
    this.entries[this.at] = { hash, state };
  }
  back(): void {
    this.asked += 1;
  }
  /** Now the browser does what it was asked for. It goes all the way before the page hears of it. */
  settle(): void {
    const asked = this.asked;
    this.asked = 0;
    this.at -= asked;
    for (let i = 0; i < asked; i++) this.page.dispatchEvent(new Event("popstate"));
  }
}

const CASE = "#/case/c1/step";
let past: Past;
let router: typeof import("./router");

beforeEach(async () => {
  vi.resetModules();
  const page = new EventTarget();
  past = new Past(page);
  past.pushState(null, "", CASE);
  vi.stubGlobal("history", past);
  vi.stubGlobal("location", past);
  vi.stubGlobal("addEventListener", page.addEventListener.bind(page));
  vi.stubGlobal("scrollTo", () => undefined);
  router = await import("./router");
  router.startRouter();
});
afterEach(() => vi.unstubAllGlobals());

/** The places behind the one that is shown, and that one. */
const trail = (): string[] => past.entries.slice(1, past.at + 1).map((entry) => entry.hash);

describe("an overlay", () => {
  it("of an emergency stays when the screen beneath puts its own address right, and still leads back", () => {
    router.openOver("emergency");
    router.go({ page: "case", id: "c1", screen: "step", tail: ["drops||"] }, { replace: true });
    expect(router.route.peek().over).toBe("emergency");
    router.closeOver();
    past.settle();
    expect(router.route.peek().over).toBeNull();
    expect(trail()).toEqual([CASE]);
    router.openOver("comfort");
    router.go({ page: "home" }, { replace: true });
    expect(router.route.peek().over).toBeNull();
  });
  it("is taken away again and leaves nothing behind", () => {
    router.openOver("comfort");
    expect(trail()).toEqual([CASE, `${CASE}?over=comfort`]);
    router.closeOver();
    past.settle();
    expect(trail()).toEqual([CASE]);
    expect(router.route.value.over).toBeNull();
  });

  it("that comes and goes before the one before it is gone does not lead out of the app", () => {
    router.openOver("comfort");
    router.closeOver();
    router.openOver("event");
    router.closeOver();
    past.settle();
    expect(trail()).toEqual([CASE]);
    expect(router.route.value).toMatchObject({ page: "case", over: null });
  });

  it("opened while another is being taken away stays", () => {
    router.openOver("comfort");
    router.closeOver();
    router.openOver("event");
    past.settle();
    expect(trail()).toEqual([CASE, `${CASE}?over=event`]);
    router.closeOver();
    past.settle();
    expect(trail()).toEqual([CASE]);
  });

  it("does not swallow a place that is gone to while it is taken away", () => {
    router.openOver("comfort");
    router.closeOver();
    router.goCase("c1", "step", "next");
    router.openOver("event");
    router.closeOver();
    past.settle();
    expect(trail()).toEqual([CASE, `${CASE}/next`]);
  });
});
