// Landmarks suggested by a model that runs in this browser; pictures never leave it. Nothing here throws into the page: what
// can't be done is told in the answer, as one sentence in `problem`.
//
//   Stancewright.pose.available()                     -> "" or why it can't run here
//   Stancewright.pose.ready({model})                  -> Promise of "" or why not; loads the model
//   Stancewright.pose.suggest(image, box, {model, pixelAspect, signal})
//     -> Promise of {landmarks: {name: {at: [x, y], visibility, depth}}, world: {name: [x, y, z]}, milliseconds, problem}
//   Stancewright.pose.suggestMany(frames, {model, box, follow, progress, signal}) -> Promise of {results, stopped}
//   Stancewright.pose.swapSides(answer)               -> the same with left and right exchanged
//   Stancewright.pose.stop()                          -> what waits is given up, what runs is dropped
//
// `at` and `depth` are in pixels of the picture as given: depth is that of the hips' middle subtracted, smaller is nearer, in
// pixel heights. `world` is in metres from the middle of the hips: x to the right of the picture, y down, z away from the camera.
"use strict";

(() => {
  const home = new URL("../vendor/pose/", document.currentScript.src).href;
  // The model's 33 points in its own order, by the names of the `measure` command.
  const NAMES = [
    "nose", "left_eye_inner", "left_eye", "left_eye_outer", "right_eye_inner", "right_eye", "right_eye_outer", "left_ear", "right_ear",
    "left_mouth", "right_mouth", "left_shoulder", "right_shoulder", "left_elbow", "right_elbow", "left_wrist", "right_wrist",
    "left_pinky", "right_pinky", "left_index", "right_index", "left_thumb", "right_thumb", "left_hip", "right_hip",
    "left_knee", "right_knee", "left_ankle", "right_ankle", "left_heel", "right_heel", "left_foot_index", "right_foot_index",
  ];
  const MODELS = { lite: 0, full: 1 };
  const TALL = 480; // a person lower than this on the canvas is often not found
  const LONGEST = 1280; // more pixels cost time and tell the model nothing, it looks at 256 x 256
  const MARGIN = 0.25; // of the box's longer side, on each side

  // --- what this browser can do ------------------------------------------------------------------------

  // The smallest module with a vector instruction (i8x16.splat, i8x16.popcnt).
  const VECTORS = new Uint8Array([
    0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 10, 1, 8, 0, 65, 0, 253, 15, 253, 98, 11,
  ]);

  const findWhyNot = () => {
    if (typeof WebAssembly !== "object") return "This browser can't run the model (no WebAssembly), so the points have to be set by hand.";
    try {
      // Compiling is what a page's policy forbids; validating alone is always allowed.
      new WebAssembly.Module(new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0]));
    } catch {
      return "This page may not run the model (its security policy forbids WebAssembly), so the points have to be set by hand.";
    }
    if (!WebAssembly.validate(VECTORS)) return "This browser is too old for the model (no vector instructions), so the points have to be set by hand.";
    const canvas = document.createElement("canvas");
    const graphics = canvas.getContext("webgl2") ?? canvas.getContext("webgl");
    if (!graphics) return "This browser offers no WebGL, which the model needs, so the points have to be set by hand.";
    graphics.getExtension("WEBGL_lose_context")?.loseContext();
    return "";
  };
  let whyNot = null;
  const available = () => {
    try {
      return (whyNot ??= findWhyNot());
    } catch (fault) {
      return `The model can't be tried in this browser (${fault.message}), so the points have to be set by hand.`;
    }
  };

  // --- from the picture to the canvas and back ---------------------------------------------------------

  // Where the canvas lies on the picture: x, y, width, height in its pixels; across, down: the canvas in its own, which are square.
  const cropFor = (size, box, aspect = 1) => {
    let [left, top, right, bottom] = [0, 0, size.width, size.height];
    let tall = size.height;
    if (box) {
      const side = MARGIN * Math.max(box.width * aspect, box.height);
      left = Math.max(0, box.x - side / aspect);
      top = Math.max(0, box.y - side);
      right = Math.min(size.width, box.x + box.width + side / aspect);
      bottom = Math.min(size.height, box.y + box.height + side);
      tall = box.height;
    }
    const [width, height] = [right - left, bottom - top];
    if (!(width > 0 && height > 0)) return null;
    const scale = Math.min(Math.max(1, TALL / tall), LONGEST / Math.max(width * aspect, height));
    const across = Math.max(1, Math.round(width * aspect * scale));
    return { x: left, y: top, width, height, across, down: Math.max(1, Math.round(height * scale)), aspect };
  };

  // Shares of the canvas's width and height to pixels of the picture.
  const toPicture = (crop, point) => [crop.x + point.x * crop.width, crop.y + point.y * crop.height];

  const sizeOf = (image) => ({
    width: image.naturalWidth || image.videoWidth || image.width,
    height: image.naturalHeight || image.videoHeight || image.height,
  });

  const drawn = (image, crop) => {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [crop.across, crop.down];
    const brush = canvas.getContext("2d");
    brush.imageSmoothingQuality = "high";
    brush.drawImage(image, crop.x, crop.y, crop.width, crop.height, 0, 0, crop.across, crop.down);
    return canvas;
  };

  const answerFrom = (found, crop) => {
    const [landmarks, world] = [{}, {}];
    NAMES.forEach((name, n) => {
      const point = found.poseLandmarks?.[n];
      const place = found.poseWorldLandmarks?.[n];
      // The model gives depth in widths of its canvas.
      if (point) landmarks[name] = { at: toPicture(crop, point), visibility: point.visibility ?? 0, depth: point.z * crop.width * crop.aspect };
      if (place) world[name] = [place.x, place.y, place.z];
    });
    return { landmarks, world };
  };

  const exchanged = (points) =>
    Object.fromEntries(
      Object.entries(points).map(([name, value]) => [
        name.startsWith("left_") ? `right_${name.slice(5)}` : name.startsWith("right_") ? `left_${name.slice(6)}` : name, value,
      ]),
    );
  const swapSides = (answer) => ({ ...answer, landmarks: exchanged(answer.landmarks), world: exchanged(answer.world ?? {}) });

  // --- the model ---------------------------------------------------------------------------------------

  let script = null;
  const loadScript = () =>
    (script ??= new Promise((done, failed) => {
      const tag = document.createElement("script");
      tag.src = `${home}pose.js`;
      tag.onload = done;
      tag.onerror = () => {
        script = null;
        tag.remove();
        failed(new Error("the file pose.js did not arrive"));
      };
      document.head.append(tag);
    }));

  // A file that does not arrive leaves the package waiting for ever, so each is asked for once before.
  const files = async (model) => {
    const names = ["pose_web.binarypb", "pose_solution_packed_assets_loader.js", "pose_solution_packed_assets.data"];
    names.push("pose_solution_simd_wasm_bin.js", "pose_solution_simd_wasm_bin.wasm", `pose_landmark_${model}.tflite`);
    await Promise.all(
      names.map(async (name) => {
        const head = await fetch(home + name, { method: "HEAD" }).catch(() => null);
        if (!head?.ok) throw new Error(`the file ${name} did not arrive`);
      }),
    );
  };

  let running = null; // {pose, model, take}
  const modelOf = async (model) => {
    if (running?.model === model) return running;
    await files(model);
    await loadScript();
    if (!running) {
      const pose = new window.Pose({ locateFile: (name) => home + name });
      running = { pose, model: "", found: null };
      const mine = running;
      pose.onResults((found) => (mine.found = found));
    }
    running.model = "";
    running.pose.setOptions({ modelComplexity: MODELS[model], staticImageMode: true, smoothLandmarks: false });
    await running.pose.initialize();
    running.model = model;
    return running;
  };

  const forget = () => {
    const old = running;
    running = null;
    // Closing a broken model may fail again; there is nothing left to save.
    Promise.resolve().then(() => old?.pose.close()).catch(() => {});
  };

  // --- one at a time -----------------------------------------------------------------------------------

  let tail = Promise.resolve();
  let turn = 0; // raised by stop()
  const STOPPED = "Stopped before it was done.";
  const nothing = (problem, more = {}) => ({ landmarks: {}, world: {}, milliseconds: 0, problem, ...more });

  const queued = (work, signal) => {
    const mine = turn;
    const over = () => mine !== turn || signal?.aborted;
    const next = tail.then(async () => {
      if (over()) return nothing(STOPPED, { stopped: true });
      try {
        const answer = await work();
        return over() ? nothing(STOPPED, { stopped: true }) : answer;
      } catch (fault) {
        forget();
        return nothing(`The model could not run (${fault?.message || fault}), so the points have to be set by hand.`);
      }
    });
    tail = next;
    return next;
  };
  const stop = () => (turn += 1);

  const wrongModel = (model) => (model in MODELS ? "" : `There is no model “${model}”; there are ${Object.keys(MODELS).join(" and ")}.`);

  const ready = async ({ model = "full" } = {}) => {
    const why = wrongModel(model) || available();
    if (why) return why;
    return (await queued(async () => (await modelOf(model), nothing("")))).problem;
  };

  const suggest = async (image, box = null, { model = "full", pixelAspect = 1, signal } = {}) => {
    const why = wrongModel(model) || available();
    if (why) return nothing(why);
    return queued(async () => {
      const crop = cropFor(sizeOf(image), box, pixelAspect);
      if (!crop) return nothing("The box round the person has no part inside the picture; draw it again.");
      const canvas = drawn(image, crop);
      const current = await modelOf(model);
      const begun = performance.now();
      current.found = null;
      await current.pose.send({ image: canvas });
      const milliseconds = performance.now() - begun;
      if (!current.found?.poseLandmarks) {
        return nothing("No person was found here; draw a box close round one person, or set the points by hand.", { milliseconds });
      }
      return { ...answerFrom(current.found, crop), milliseconds, problem: "" };
    }, signal);
  };

  // --- many frames -------------------------------------------------------------------------------------

  const around = (answer) => {
    const sure = Object.values(answer.landmarks).filter((one) => one.visibility >= 0.5).map((one) => one.at);
    if (sure.length < 4) return null;
    const [xs, ys] = [sure.map(([x]) => x), sure.map(([, y]) => y)];
    const [x, y] = [Math.min(...xs), Math.min(...ys)];
    return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
  };

  // frames: [{frame, image}] or any (asynchronous) iterable of such; image may be a function that gives one, so that only one is
  // held at a time. follow: the box goes with the person, from one frame to the next.
  const suggestMany = async (frames, { model = "full", box = null, follow = true, pixelAspect = 1, progress, signal } = {}) => {
    const mine = turn;
    const results = [];
    let [place, stopped] = [box, false];
    const total = frames.length ?? null;
    try {
      for await (const one of frames) {
        if ((stopped = mine !== turn || Boolean(signal?.aborted))) break;
        let answer;
        try {
          const image = typeof one.image === "function" ? await one.image() : one.image;
          answer = await suggest(image, one.box ?? place, { model, pixelAspect, signal });
        } catch (fault) {
          answer = nothing(`This frame could not be read (${fault?.message || fault}).`);
        }
        if ((stopped = Boolean(answer.stopped))) break;
        if (box && follow) place = around(answer) ?? place;
        results.push({ frame: one.frame, ...answer });
        progress?.({ done: results.length, total, frame: one.frame, answer });
      }
    } catch (fault) {
      return { results, stopped, problem: `The frames could not be read further (${fault?.message || fault}).` };
    }
    return { results, stopped, problem: "" };
  };

  const pose = { NAMES, MODELS: Object.keys(MODELS), available, cropFor, ready, stop, suggest, suggestMany, swapSides, toPicture };
  window.Stancewright = Object.assign(window.Stancewright ?? {}, { pose: Object.freeze(pose) });
})();
