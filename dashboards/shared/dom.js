// Small helpers to build elements. No markup is ever parsed from data: text goes in as text.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, props, kids) {
  for (const [key, value] of Object.entries(props || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else node.setAttribute(key, value === true ? "" : String(value));
  }
  node.append(...kids.flat(Infinity).filter((kid) => kid !== null && kid !== undefined));
  return node;
}

export function el(tag, props, ...kids) {
  return fill(document.createElement(tag), props, kids);
}

export function svg(tag, props, ...kids) {
  return fill(document.createElementNS(SVG, tag), props, kids);
}

export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function setAttr(node, name, value) {
  if (value === null || value === undefined) node.removeAttribute(name);
  else if (node.getAttribute(name) !== String(value)) node.setAttribute(name, String(value));
}

/** Rebuilds a node's children only when what they show has changed. */
export function redrawOn(node, key, build) {
  const text = JSON.stringify(key);
  if (node.shownKey === text) return;
  node.shownKey = text;
  node.replaceChildren(...[build()].flat().filter(Boolean));
}
