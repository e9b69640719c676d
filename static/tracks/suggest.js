// Suggested points over the frames of a track: exact frames in, batches out, with progress, stop and going on.
"use strict";
(() => {
  const KEEP = /^(nose|(left|right)_(shoulder|elbow|wrist|hip|knee|ankle|heel|foot_index|ear))$/;
  const WIDE = 1280;

  async function picture(address) {
    const image = new Image();
    image.src = address;
    await image.decode();
    return image;
  }

  // Yields each frame with its picture, which is fetched only when its turn comes.
  async function* framesOf(data, frames, sizes) {
    for (const frame of frames) {
      yield {
        frame,
        image: async () => {
          const image = await picture(`${data.urls.frame}${frame}/?w=${WIDE}`);
          sizes[frame] = [image.naturalWidth, image.naturalHeight];
          return image;
        },
      };
    }
  }

  // box in pixels of the footage; send(batch) posts {frame: {name: point}}; returns what became of it.
  async function suggestOver(data, frames, { box, send, progress, signal }) {
    const { pose } = window.Stancewright, sizes = {};
    const inPicture = box && ((size) => ({ x: (box.x * size[0]) / data.size[0], y: (box.y * size[1]) / data.size[1], width: (box.width * size[0]) / data.size[0], height: (box.height * size[1]) / data.size[1] }));
    let first = null;
    if (box && frames.length) {
      const image = await picture(`${data.urls.frame}${frames[0]}/?w=${WIDE}`);
      first = inPicture([image.naturalWidth, image.naturalHeight]);
    }
    let batch = {}, waiting = Promise.resolve(), found = 0, failed = "";
    const post = () => {
      const ready = batch;
      batch = {};
      if (Object.keys(ready).length) waiting = waiting.then(() => (failed ? null : send(ready))).then((fault) => { if (fault) failed = fault; });
    };
    const heard = ({ done, frame, answer }) => {
      const points = {}, size = sizes[frame];
      for (const [name, one] of Object.entries(answer.landmarks || {})) {
        if (size && KEEP.test(name)) points[name] = [(one.at[0] * data.size[0]) / size[0], (one.at[1] * data.size[1]) / size[1], "suggested", Math.max(0, Math.min(1, one.visibility ?? 0))];
      }
      // A point more than a picture away is no point of it.
      for (const [name, [x, y]] of Object.entries(points)) if (!(Math.abs(x) < 1.9 * data.size[0] && Math.abs(y) < 1.9 * data.size[1])) delete points[name];
      if (Object.keys(points).length) { batch[frame] = points; found += 1; }
      if (Object.keys(batch).length >= Math.min(10, data.batch)) post();
      progress({ done, total: frames.length, frame });
    };
    const source = framesOf(data, frames, sizes);
    const ended = await pose.suggestMany(source, { box: first, progress: heard, signal });
    post();
    await waiting;
    return { found, stopped: ended.stopped, problem: failed || ended.problem };
  }

  window.Stancewright = Object.assign(window.Stancewright || {}, { suggestOver });
})();
