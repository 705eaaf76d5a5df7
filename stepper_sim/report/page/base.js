"use strict";
// Reading the data block, numbers as a person writes them, and elements without markup from text.

const programs = JSON.parse(document.getElementById("data").textContent);

function bytesOf(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; ++i) bytes[i] = raw.charCodeAt(i);
  return bytes.buffer;
}

const kArrays = {
  u8: Uint8Array, i8: Int8Array, u16: Uint16Array, i16: Int16Array, u32: Uint32Array, f32: Float32Array,
};

/** The array behind a name such as "line_u32", decoded once. */
function numbers(object, name) {
  const cache = object.decoded || (object.decoded = {});
  if (!cache[name]) cache[name] = new kArrays[name.slice(name.lastIndexOf("_") + 1)](bytesOf(object[name]));
  return cache[name];
}

function digits(value, count) {
  if (!isFinite(value)) return "–";
  if (value === 0) return "0";
  const decimals = Math.max(0, count - 1 - Math.floor(Math.log10(Math.abs(value))));
  return String(Number(value.toFixed(Math.min(decimals, 9))));
}

const percent = (share) => (share >= 10 ? "over 1000" : (100 * share).toFixed(0)) + " %";
const mm = (metres) => digits(1000 * metres, 5) + " mm";

function clock(seconds, step) {
  let fraction = step === undefined ? 1 : 0;
  while (step !== undefined && fraction < 7 && Math.abs(step * 10 ** fraction - Math.round(step * 10 ** fraction)) > 1e-6) ++fraction;
  if (seconds < 60) return seconds.toFixed(fraction) + " s";
  const whole = Math.floor(seconds / 60);
  const rest = (seconds - 60 * whole).toFixed(step === undefined ? 0 : fraction);
  return whole < 60 ? whole + " min " + rest + " s" : Math.floor(whole / 60) + " h " + (whole % 60) + " min" + (step < 60 ? " " + rest + " s" : "");
}

/** An element with attributes and children; strings become text, never markup. */
function make(name, attributes, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {}))
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== false) element.setAttribute(key, value === true ? "" : value);
  element.append(...children);
  return element;
}

const byId = (id) => document.getElementById(id);
function say(id, text) {
  const place = byId(id);
  if (place && place.textContent !== text) place.textContent = text;
}

let colours = null;
/** A colour of the palette, as the surroundings are now. */
function colour(name) {
  if (!colours) colours = getComputedStyle(document.documentElement);
  return colours.getPropertyValue("--" + name).trim();
}
function forgetColours() { colours = null; }

function mixed(a, b, share) {
  const part = (text, at) => parseInt(text.slice(at, at + 2), 16);
  const out = [1, 3, 5].map((at) => Math.round(part(a, at) + (part(b, at) - part(a, at)) * share));
  return "rgb(" + out.join(",") + ")";
}

/** A canvas as sharp as the screen; returns its context in CSS pixels. */
function sharp(canvas, width, height) {
  const ratio = window.devicePixelRatio || 1;
  canvas.width = Math.max(1, Math.round(width * ratio));
  canvas.height = Math.max(1, Math.round(height * ratio));
  canvas.style.height = height + "px";
  const context = canvas.getContext("2d");
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  return context;
}
