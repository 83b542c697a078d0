// What this device writes down: kept here until the office has it. Each entry stands under a key of its own, so that
// two windows never write over each other, and is sent again until the office says that it is stored.

const PREFIX = "galleyproof-entry ";
const RETRY_MS = 4000;

function hex(bytes) {
  const made = crypto.getRandomValues(new Uint8Array(bytes));
  return [...made].map((b) => b.toString(16).padStart(2, "0")).join("");
}

function kept(key, make) {
  let value = localStorage.getItem(key);
  if (value === null) {
    value = make();
    localStorage.setItem(key, value);
  }
  return value;
}

// Now by this device's clock, with its offset: 2026-11-25T14:05:09+01:00.
function now() {
  const at = new Date();
  const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  const offset = -at.getTimezoneOffset();
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}T${two(at.getHours())}:${two(at.getMinutes())}:`
    + `${two(at.getSeconds())}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}

export class Outbox {
  constructor(job, save, told) {
    this.job = job;
    this.save = save;
    this.told = told;
    this.device = kept("galleyproof-device", () => hex(16));
    this.reached = true;
    this.fault = "";
    this.outcome = new Map();
    this.line = Promise.resolve();
    addEventListener("online", () => this.send());
    setInterval(() => this.waiting().length && this.send(), RETRY_MS);
  }

  // Who reads, and with what: asked once, kept until it is changed.
  get person() {
    try {
      return JSON.parse(sessionStorage.getItem("galleyproof-person") || "null");
    } catch {
      return null;
    }
  }

  set person(value) {
    sessionStorage.setItem("galleyproof-person", JSON.stringify(value));
    localStorage.setItem("galleyproof-person", JSON.stringify(value));
  }

  get personBefore() {
    try {
      return JSON.parse(localStorage.getItem("galleyproof-person") || "null");
    } catch {
      return null;
    }
  }

  // Entries of this job that the office does not have yet: [{entry, refused}].
  waiting() {
    const found = [];
    for (let n = 0; n < localStorage.length; n += 1) {
      const key = localStorage.key(n);
      if (!key.startsWith(`${PREFIX}${this.job} `)) continue;
      try {
        found.push(JSON.parse(localStorage.getItem(key)));
      } catch {
        this.fault = "One entry kept here cannot be read any more.";
      }
    }
    return found.sort((a, b) => a.entry.sequence - b.entry.sequence);
  }

  // Write an entry down; throws when the device has no room, and then nothing was taken.
  add(plan, probe, read, more = {}) {
    const sequence = Number(localStorage.getItem("galleyproof-sequence") || "0") + 1;
    localStorage.setItem("galleyproof-sequence", String(sequence));
    const entry = {
      id: hex(16), job: plan.job, job_name: plan.name.trim().slice(0, 120).trim() || "job", probe, read, taken_at: now(), sequence,
      device: this.device, by: this.person.by, ...more,
    };
    this.keep({ entry, refused: "" });
    return entry;
  }

  keep(one) {
    localStorage.setItem(`${PREFIX}${this.job} ${one.entry.id}`, JSON.stringify(one));
  }

  drop(id) {
    localStorage.removeItem(`${PREFIX}${this.job} ${id}`);
  }

  // Send what waits, one sending after the other; what became of each entry stands in `outcome` then: "" when it is
  // stored, the words when it is refused, nothing while the office does not answer.
  send() {
    this.line = this.line.then(() => this.sendNow());
    return this.line;
  }

  async sendNow() {
    const some = this.waiting().filter((w) => !w.refused).slice(0, 200);
    if (!some.length) return;
    let answer = null;
    try {
      const response = await fetch(`/jobs/${this.job}/check-out/entries?save=${this.save}`, {
        method: "POST",
        headers: { "content-type": "application/json", "hx-request": "true", ...formHeaders() },
        body: JSON.stringify({ entries: some.map((w) => w.entry) }),
        redirect: "error",
      });
      this.reached = true;
      if (response.ok) {
        answer = await response.json();
        this.fault = "";
        for (const id of answer.stored) {
          this.drop(id);
          this.outcome.set(id, "");
        }
        for (const { id, words } of answer.refused) {
          const one = some.find((w) => w.entry.id === id);
          if (one) this.keep({ ...one, refused: words });
          this.outcome.set(id, words);
        }
      } else {
        this.fault = response.status === 401 || response.status === 403
          ? "The office does not know you any more. Load the page again and sign in; nothing typed here is lost."
          : `The office could not store it (${response.status}); it is tried again.`;
      }
    } catch {
      this.reached = false;
    }
    this.told(answer);
  }
}

export function formHeaders() {
  return JSON.parse(document.body.getAttribute("hx-headers") || "{}");
}
