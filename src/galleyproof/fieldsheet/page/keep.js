// What the tablet keeps: each entry under a key of its own, so that nothing is ever written over, not even from two
// windows. Where the browser keeps nothing for files from a disk, the page says so at once.

class Keep {
  constructor(print) {
    this.prefix = `galleyproof 1 ${print} `;
    this.memory = new Map();
    this.settings = new Map();
    this.broken = "";
    try {
      const probe = `galleyproof 1 try ${newId()}`;
      localStorage.setItem(probe, "1");
      localStorage.removeItem(probe);
      this.store = localStorage;
    } catch {
      this.store = null;
      this.broken = "This browser keeps nothing for a file opened from a disk. Export before you close the page.";
    }
  }

  entries() {
    if (!this.store) return [...this.memory.values()];
    const found = [];
    for (let i = 0; i < this.store.length; i += 1) {
      const key = this.store.key(i);
      if (!key.startsWith(`${this.prefix}entry `)) continue;
      try {
        found.push(JSON.parse(this.store.getItem(key)));
      } catch {
        this.broken = "An entry kept on this tablet cannot be read any more; export what there is, and tell the office.";
      }
    }
    return found;
  }

  // Throws when the tablet has no room: the entry is then not taken, and the page says so.
  add(entry) {
    if (!this.store) {
      this.memory.set(entry.id, entry);
      return;
    }
    const key = `${this.prefix}entry ${entry.id}`;
    if (this.store.getItem(key) !== null) return;
    this.store.setItem(key, JSON.stringify(entry));
  }

  setting(name, fallback) {
    try {
      const kept = this.store ? this.store.getItem(`galleyproof 1 ${name}`) : this.settings.get(name);
      return kept ? JSON.parse(kept) : fallback;
    } catch {
      return fallback;
    }
  }

  keepSetting(name, value) {
    const text = JSON.stringify(value);
    if (this.store) this.store.setItem(`galleyproof 1 ${name}`, text);
    else this.settings.set(name, text);
  }

  get device() {
    let device = this.setting("device", "");
    if (!/^[0-9a-f]{32}$/.test(device)) {
      device = newId();
      this.keepSetting("device", device);
    }
    return device;
  }
}

// Now, by this device's clock, with its offset: 2026-11-25T14:05:09+01:00.
function now() {
  const date = new Date();
  const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  const offset = -date.getTimezoneOffset();
  const sign = offset < 0 ? "-" : "+";
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}T${two(date.getHours())}:`
    + `${two(date.getMinutes())}:${two(date.getSeconds())}${sign}${two(offset / 60)}:${two(offset % 60)}`;
}
