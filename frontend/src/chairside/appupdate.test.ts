import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";

/** A service worker container that goes through the motions when told to. */
class Worker extends EventTarget {
  state = "installing";
  readonly sent: unknown[] = [];
  postMessage(message: unknown): void {
    this.sent.push(message);
  }
  become(state: string): void {
    this.state = state;
    this.dispatchEvent(new Event("statechange"));
  }
}
class Registration extends EventTarget {
  installing: Worker | null = null;
  waiting: Worker | null = null;
  active: Worker | null = null;
  update = vi.fn(async () => undefined);
  found(worker: Worker): void {
    this.installing = worker;
    this.dispatchEvent(new Event("updatefound"));
  }
}
class Container extends EventTarget {
  controller: Worker | null = null;
  readonly asked: unknown[] = [];
  constructor(readonly registration: Registration) {
    super();
  }
  register = vi.fn(async (url: unknown): Promise<Registration> => {
    this.asked.push(url);
    return this.registration;
  });
}

let registration: Registration;
let container: Container;
let page: typeof import("./appupdate");

beforeEach(async () => {
  vi.resetModules();
  registration = new Registration();
  container = new Container(registration);
  vi.stubGlobal("navigator", { serviceWorker: container });
  vi.stubGlobal("window", new EventTarget());
  vi.stubGlobal("document", Object.assign(new EventTarget(), { visibilityState: "visible" }));
  page = await import("./appupdate");
});
afterEach(() => vi.unstubAllGlobals());

describe("the first start", () => {
  it("is ready once the worker is active, and is not an update", async () => {
    const started = page.startAppUpdates();
    expect(page.shell.value).toBe("installing");
    await started;
    const worker = new Worker();
    registration.found(worker);
    worker.become("installed");
    expect(page.updateReady.value).toBe(false);
    worker.become("activated");
    expect(page.shell.value).toBe("ready");
  });

  it("says why when the worker can't be had", async () => {
    container.register.mockRejectedValueOnce(new TypeError("bad certificate"));
    await page.startAppUpdates();
    expect(page.shell.value).toBe("failed");
    expect(page.shellFailure.value).toContain("bad certificate");
  });

  it("is absent where the browser has no workers", async () => {
    vi.stubGlobal("navigator", {});
    await page.startAppUpdates();
    expect(page.shell.value).toBe("absent");
  });
});

describe("a new version", () => {
  it("waits until it is told to take over, and only then the page is loaded anew", async () => {
    container.controller = new Worker();
    await page.startAppUpdates();
    const newer = new Worker();
    registration.found(newer);
    newer.become("installed");
    registration.waiting = newer;
    expect(page.updateReady.value).toBe(true);
    expect(newer.sent).toEqual([]);

    const reload = vi.fn();
    expect(page.takeOver(reload)).toBe(true);
    expect(newer.sent).toEqual([{ type: "take-over" }]);
    expect(reload).not.toHaveBeenCalled();
    container.dispatchEvent(new Event("controllerchange"));
    expect(reload).toHaveBeenCalledTimes(1);
  });

  it("that had been waiting since an earlier start is seen", async () => {
    container.controller = new Worker();
    registration.waiting = new Worker();
    await page.startAppUpdates();
    expect(page.updateReady.value).toBe(true);
  });

  it("whose worker is active already, since the app was closed meanwhile, is still asked first", async () => {
    const notes = new Map([
      ["/shown", new Response("earlier")],
      ["/newest", new Response("newer")],
    ]);
    const open = async () => ({ match: async (name: string) => notes.get(name) });
    vi.stubGlobal("caches", { open });
    const active = new Worker();
    active.state = "activated";
    registration.active = active;
    container.controller = active;
    await page.startAppUpdates();
    expect(page.updateReady.value).toBe(true);

    const reload = vi.fn();
    expect(page.takeOver(reload)).toBe(true);
    expect(active.sent).toEqual([{ type: "take-over" }]);
    expect(reload).not.toHaveBeenCalled();
    container.dispatchEvent(Object.assign(new Event("message"), { data: { type: "taken-over" } }));
    expect(reload).toHaveBeenCalledTimes(1);
  });

  it("that is gone is no longer offered", async () => {
    container.controller = new Worker();
    registration.waiting = new Worker();
    await page.startAppUpdates();
    registration.waiting = null;
    const reload = vi.fn();
    expect(page.takeOver(reload)).toBe(false);
    expect(page.updateReady.value).toBe(false);
    container.dispatchEvent(new Event("controllerchange"));
    expect(reload).not.toHaveBeenCalled();
  });

  it("is looked for when the person comes back, once a minute at most, and quietly without a network", async () => {
    vi.useFakeTimers({ now: 1_000_000 });
    try {
      await page.startAppUpdates();
      window.dispatchEvent(new Event("focus"));
      expect(registration.update).not.toHaveBeenCalled();
      vi.setSystemTime(1_061_000);
      registration.update.mockRejectedValueOnce(new TypeError("no network"));
      await page.lookForUpdate();
      window.dispatchEvent(new Event("focus"));
      expect(registration.update).toHaveBeenCalledTimes(1);
      vi.setSystemTime(1_122_000);
      document.dispatchEvent(new Event("visibilitychange"));
      expect(registration.update).toHaveBeenCalledTimes(2);
    } finally {
      vi.useRealTimers();
    }
  });
});

it("goes through a Trusted Types policy that lets the worker's address through and no other", async () => {
  let rules: { createScriptURL(url: string): string } | undefined;
  const createPolicy = vi.fn((_name: string, given: { createScriptURL(url: string): string }) => {
    rules = given;
    return { createScriptURL: (url: string) => `trusted:${given.createScriptURL(url)}` };
  });
  vi.stubGlobal("trustedTypes", { createPolicy });
  await page.startAppUpdates();
  expect(createPolicy).toHaveBeenCalledWith("chinrest-sw", expect.anything());
  expect(container.asked).toEqual(["trusted:/sw.js"]);
  expect(() => rules?.createScriptURL("/other.js")).toThrow(TypeError);
});
