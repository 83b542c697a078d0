// Bytes: base 64 in, deflated data out (RFC 1951), check sums, base 45 (RFC 9285). Nothing here needs the browser to
// trust the file, so it works from a disk as from a server.

const SIGNS45 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

function fromBase64(text) {
  const raw = atob(text.replace(/\s+/g, ""));
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return bytes;
}

const utf8 = (text) => new TextEncoder().encode(text);
const fromUtf8 = (bytes) => new TextDecoder("utf-8", { fatal: true }).decode(bytes);

// A code table as one array: index by the next bits, read the symbol and its length out of it.
function huffman(lengths) {
  const most = Math.max(1, ...lengths);
  const count = new Uint16Array(16);
  for (const n of lengths) count[n] += 1;
  count[0] = 0;
  const next = new Uint16Array(16);
  for (let n = 1; n < 16; n += 1) next[n] = (next[n - 1] + count[n - 1]) << 1;
  const table = new Uint16Array(1 << most);
  lengths.forEach((n, symbol) => {
    if (!n) return;
    let code = next[n];
    next[n] += 1;
    let reversed = 0;
    for (let k = 0; k < n; k += 1) {
      reversed = (reversed << 1) | (code & 1);
      code >>= 1;
    }
    for (let at = reversed; at < table.length; at += 1 << n) table[at] = (symbol << 4) | n;
  });
  return { table, most };
}

const LENGTH_BASE = [], LENGTH_EXTRA = [], DISTANCE_BASE = [], DISTANCE_EXTRA = [];
for (let n = 0, base = 3; n < 28; n += 1) {
  LENGTH_EXTRA.push(n < 8 ? 0 : (n >> 2) - 1);
  LENGTH_BASE.push(base);
  base += 1 << LENGTH_EXTRA[n];
}
LENGTH_BASE.push(258);
LENGTH_EXTRA.push(0);
for (let n = 0, base = 1; n < 30; n += 1) {
  DISTANCE_EXTRA.push(n < 4 ? 0 : (n >> 1) - 1);
  DISTANCE_BASE.push(base);
  base += 1 << DISTANCE_EXTRA[n];
}
const CODE_ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];

function inflate(input) {
  let out = new Uint8Array(Math.max(1024, input.length * 5));
  let size = 0, at = 0, held = 0, bits = 0;
  const need = (n) => {
    while (bits < n) {
      held |= (input[at] || 0) << bits;
      at += 1;
      bits += 8;
    }
  };
  const take = (n) => {
    if (n === 0) return 0;
    need(n);
    const value = held & ((1 << n) - 1);
    held >>>= n;
    bits -= n;
    return value;
  };
  const symbol = (code) => {
    need(code.most);
    const found = code.table[held & ((1 << code.most) - 1)];
    if (!found) throw new Error("packed data is damaged");
    held >>>= found & 15;
    bits -= found & 15;
    return found >> 4;
  };
  const room = (n) => {
    if (size + n <= out.length) return;
    const larger = new Uint8Array(Math.max(out.length * 2, size + n));
    larger.set(out);
    out = larger;
  };
  let last = 0;
  while (!last) {
    if (at > input.length + 4) throw new Error("packed data is cut off");
    last = take(1);
    const form = take(2);
    if (form === 0) {
      at -= bits >> 3;
      held = 0;
      bits = 0;
      const length = input[at] | (input[at + 1] << 8);
      at += 4;
      room(length);
      out.set(input.subarray(at, at + length), size);
      at += length;
      size += length;
      continue;
    }
    if (form === 3) throw new Error("packed data is damaged");
    let literal, distance;
    if (form === 1) {
      const lengths = new Array(288).fill(8).fill(9, 144, 256).fill(7, 256, 280);
      literal = huffman(lengths);
      distance = huffman(new Array(30).fill(5));
    } else {
      const literals = take(5) + 257, distances = take(5) + 1, codes = take(4) + 4;
      const order = new Array(19).fill(0);
      for (let n = 0; n < codes; n += 1) order[CODE_ORDER[n]] = take(3);
      const code = huffman(order);
      const lengths = [];
      while (lengths.length < literals + distances) {
        const what = symbol(code);
        if (what < 16) lengths.push(what);
        else {
          const again = what === 16 ? lengths[lengths.length - 1] : 0;
          let times = what === 16 ? 3 + take(2) : what === 17 ? 3 + take(3) : 11 + take(7);
          for (; times > 0; times -= 1) lengths.push(again);
        }
      }
      literal = huffman(lengths.slice(0, literals));
      distance = huffman(lengths.slice(literals, literals + distances));
    }
    for (;;) {
      const what = symbol(literal);
      if (what === 256) break;
      if (at > input.length + 4) throw new Error("packed data is cut off");
      if (what < 256) {
        room(1);
        out[size] = what;
        size += 1;
        continue;
      }
      const length = LENGTH_BASE[what - 257] + take(LENGTH_EXTRA[what - 257]);
      const far = symbol(distance);
      const from = size - DISTANCE_BASE[far] - take(DISTANCE_EXTRA[far]);
      if (from < 0) throw new Error("packed data is damaged");
      room(length);
      for (let k = 0; k < length; k += 1) out[size + k] = out[from + k];
      size += length;
    }
  }
  return out.subarray(0, size);
}

const CRC_TABLE = new Uint32Array(256).map((_, n) => {
  let value = n;
  for (let k = 0; k < 8; k += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value;
});

function crc32(bytes) {
  let value = 0xffffffff;
  for (const byte of bytes) value = CRC_TABLE[(value ^ byte) & 255] ^ (value >>> 8);
  return ((value ^ 0xffffffff) >>> 0).toString(16).toUpperCase().padStart(8, "0");
}

function base45(bytes) {
  let out = "";
  let i = 0;
  for (; i + 1 < bytes.length; i += 2) {
    const n = bytes[i] * 256 + bytes[i + 1];
    out += SIGNS45[n % 45] + SIGNS45[Math.floor(n / 45) % 45] + SIGNS45[Math.floor(n / 2025)];
  }
  if (i < bytes.length) out += SIGNS45[bytes[i] % 45] + SIGNS45[Math.floor(bytes[i] / 45)];
  return out;
}

// Deflates where the browser can; null where it cannot, and the bytes then go plain.
async function deflate(bytes) {
  if (typeof CompressionStream === "undefined") return null;
  try {
    const packed = new Blob([bytes]).stream().pipeThrough(new CompressionStream("deflate-raw"));
    return new Uint8Array(await new Response(packed).arrayBuffer());
  } catch {
    return null;
  }
}

// 32 hexadecimal digits of chance, a version 4 UUID (RFC 9562) without its dashes.
function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}
