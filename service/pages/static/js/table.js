// The slat on the table with the art on it, drawn from the proof's own true-size drawing (1 unit = 1 mm, y down).

import { _ } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";

function make(name, attributes, parent) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}

export async function drawTable(frame, address, start) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`the drawing could not be had (${answer.status})`);
  const drawing = new DOMParser().parseFromString(await answer.text(), "image/svg+xml");
  const paths = (id) => [...drawing.querySelectorAll(`#${id} path`)].map((path) => path.getAttribute("d")).join("");
  const [left, top, width, height] = drawing.documentElement.getAttribute("viewBox").split(" ").map(Number);

  const unit = Math.max(width / 520, height / 640);
  const margin = 26 * unit;
  const box = [left - margin, top - margin, width + 2 * margin, height + 2 * margin];
  const svg = make("svg", { class: "carving table", viewBox: box.join(" "), width: box[2] / unit, height: box[3] / unit, tabindex: 0, role: "application", "aria-label": _("The slat with your art. Arrow keys move it, plus and minus resize it, square brackets turn it.") });
  make("path", { class: "wood", d: paths("slat-outline") }, svg);
  make("path", { class: "safe", d: paths("safe-area") }, svg);
  make("path", { class: "keep-out", d: paths("keep-outs") }, svg);
  const middle = left + width / 2;
  make("path", { class: "centre", d: `M${middle} ${top - margin / 2}V${top + height + margin / 2}` }, svg);
  const art = make("path", { class: "art", d: paths("art"), "fill-rule": "evenodd" }, svg);
  const handle = make("circle", { class: "handle", r: 11 * unit }, svg);
  const marks = make("g", { class: "found" }, svg);
  frame.replaceChildren(svg);

  const back = new DOMMatrix()
    .scale(start.mirrored ? -1 : 1, 1)
    .rotate(start.rotation_deg)
    .translate(-start.x, start.y);

  return {
    svg,
    middle,
    handle,
    // A point of the screen in slat mm, y up.
    toSlat(x, y) {
      const place = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
      return { x: place.x, y: -place.y };
    },
    lay(placement) {
      const factor = placement.scale / start.scale;
      const matrix = new DOMMatrix()
        .translate(placement.x, -placement.y)
        .rotate(-placement.rotation_deg)
        .scale((placement.mirrored ? -1 : 1) * factor, factor)
        .multiply(back);
      art.setAttribute("transform", `matrix(${matrix.a} ${matrix.b} ${matrix.c} ${matrix.d} ${matrix.e} ${matrix.f})`);
      const corner = art.getBBox();
      const at = new DOMPoint(corner.x + corner.width, corner.y).matrixTransform(matrix);
      handle.setAttribute("cx", at.x);
      handle.setAttribute("cy", at.y);
      marks.replaceChildren();
    },
    mark(findings) {
      marks.replaceChildren(
        ...findings.map((finding) => make("path", { class: `place ${finding.severity}`, d: pathOf(finding.place) })),
      );
    },
  };
}

function pathOf(geometry) {
  if (!geometry) return "";
  const line = (points) => (points.length ? `M${points.map(([x, y]) => `${x} ${-y}`).join("L")}` : "");
  const rings = (polygon) => polygon.map((ring) => `${line(ring)}Z`).join("");
  const { type, coordinates } = geometry;
  if (type === "Point") return `M${coordinates[0] - 1} ${-coordinates[1]}h2`;
  if (type === "MultiPoint") return coordinates.map(([x, y]) => `M${x - 1} ${-y}h2`).join("");
  if (type === "LineString") return line(coordinates);
  if (type === "MultiLineString") return coordinates.map(line).join("");
  if (type === "Polygon") return rings(coordinates);
  if (type === "MultiPolygon") return coordinates.map(rings).join("");
  if (type === "GeometryCollection") return geometry.geometries.map(pathOf).join("");
  return "";
}
