// The carved slat as a solid to turn with finger, mouse or arrow keys. Loaded only when asked for.

import {
  AmbientLight, Box3, DirectionalLight, GLTFLoader, HemisphereLight, OrbitControls, PerspectiveCamera, Scene, Vector3,
  WebGLRenderer,
} from "../vendor/three.js";
import { _ } from "./words.js";

const STEP = Math.PI / 24;
const SWAY = 0.22;
const SWAY_MS = 9000;

// `close` is what the picture shows of the slat: left, low, right, high, mm.
export async function showSolid(frame, address, button, close) {
  const canvas = document.createElement("canvas");
  canvas.className = "solid";
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", _("The carved slat as a solid. Arrow keys turn it, plus and minus bring it nearer."));
  const renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
  const { scene: solid } = await new GLTFLoader().loadAsync(address);

  const box = new Box3().setFromObject(solid);
  const middle = box.getCenter(new Vector3());
  const size = box.getSize(new Vector3());
  solid.position.sub(middle);
  const scene = new Scene();
  scene.add(solid, new HemisphereLight(0xf3f6ff, 0x8a7a66, 1.1), new AmbientLight(0xffffff, 0.25));
  const lamp = new DirectionalLight(0xfff1dc, 2.6);
  lamp.position.set(-0.6, 0.8, 0.55);
  scene.add(lamp);

  const camera = new PerspectiveCamera(30, 1, 0.01, 20);
  const controls = new OrbitControls(camera, canvas);
  const aim = new Vector3((close[0] + close[2]) / 2000, (close[1] + close[3]) / 2000, box.max.z).sub(middle);
  controls.target.copy(aim);
  controls.enableDamping = false;
  controls.minDistance = 0.03;
  controls.maxDistance = size.length() * 4;

  let due = 0; // one picture a frame, however much happens in between: a device without a graphics card takes long for each
  const draw = () => {
    due ||= requestAnimationFrame(() => {
      due = 0;
      renderer.render(scene, camera);
    });
  };
  const fit = () => {
    const width = frame.clientWidth - 24;
    const height = Math.min(Math.max(360, width), window.innerHeight * 0.8);
    renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
    renderer.setSize(width, height, false);
    canvas.style.height = `${height}px`;
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    draw();
  };
  const far = (Math.max(close[2] - close[0], close[3] - close[1]) / 2000 / Math.tan(Math.PI / 12)) * 1.1;
  camera.position.set(0.25, 0.12, 1).normalize().multiplyScalar(far).add(aim);
  controls.addEventListener("change", draw);

  // It sways gently, so that the depth is seen, until somebody takes it in hand or wants nothing to move.
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  let swaying = !still;
  const from = camera.position.clone().sub(aim);
  const sway = (now) => {
    if (!swaying || !canvas.isConnected) return;
    const turned = SWAY * Math.sin((now / SWAY_MS) * 2 * Math.PI);
    camera.position.copy(from).applyAxisAngle(new Vector3(0, 1, 0), turned).add(aim);
    controls.update();
    requestAnimationFrame(sway);
  };
  for (const taken of ["pointerdown", "keydown", "wheel"]) canvas.addEventListener(taken, () => (swaying = false));
  canvas.addEventListener("keydown", (event) => {
    const turn = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] }[event.key];
    const zoom = { "+": 0.9, "=": 0.9, "-": 1.1 }[event.key];
    if (!turn && !zoom) return;
    event.preventDefault();
    const at = camera.position.clone().sub(aim);
    const [radius, polar, round] = [at.length(), Math.acos(at.y / at.length()), Math.atan2(at.x, at.z)];
    const away = Math.min(Math.max(radius * (zoom ?? 1), controls.minDistance), controls.maxDistance);
    const down = Math.min(Math.max(polar + (turn?.[1] ?? 0), 0.05), Math.PI - 0.05);
    camera.position.setFromSphericalCoords(away, down, round + (turn?.[0] ?? 0)).add(aim);
    controls.update();
    draw();
  });

  const flat = [...frame.children];
  const stop = () => {
    canvas.remove();
    cancelAnimationFrame(due);
    controls.dispose();
    renderer.dispose();
    window.removeEventListener("resize", fit);
    for (const child of flat) child.removeAttribute("hidden");
    button.textContent = button.dataset.words;
    button.onclick = null;
  };
  for (const child of flat) child.setAttribute("hidden", "");
  frame.append(canvas);
  window.addEventListener("resize", fit);
  controls.update();
  fit();
  canvas.focus({ preventScroll: true });
  requestAnimationFrame(sway);
  button.dataset.words ??= button.textContent;
  button.textContent = _("Back to the picture");
  button.disabled = false;
  button.addEventListener("click", (event) => {
    event.stopImmediatePropagation();
    stop();
  }, { once: true, capture: true });
}
