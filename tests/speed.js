// In the measured page: which slider value is on show, frame by frame, read from the picture's corner square.
(() => {
  if (window.probe) return;
  const probe = (window.probe = { key: 0 });
  const paper = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  const output = () => document.querySelector(".jp-Notebook .jp-Cell-outputWrapper");
  const find = () => [...(output()?.querySelectorAll("img") || [])].find((image) => image.getBoundingClientRect().height > 100);
  let read = null, waiting = null, recording = null;
  const look = () => {
    const image = find();
    if (!image || !image.naturalWidth) return -1;
    if (!image.complete) return image === read?.image ? read.value : -1; // the old picture stays until the new one is there
    if (image === read?.image && image.src === read.src) return read.value;
    const scale = image.naturalHeight / 384;
    // 16 px in: plain `interact` crops the picture and puts a margin of 10 px around it
    paper.drawImage(image, 16 * scale, image.naturalHeight - 16 * scale, 1, 1, 0, 0, 1, 1);
    const [red, green, blue] = paper.getImageData(0, 0, 1, 1).data;
    const value = Math.abs(blue - 128) < 6 && green < 12 ? Math.round(red / 4) : -1;
    read = { image, src: image.src, value };
    return value;
  };
  const channel = new MessageChannel(); // answers after the frame has been drawn
  let drawn = null;
  channel.port1.onmessage = () => drawn?.(performance.now());
  const frame = () => {
    const value = look();
    const height = output()?.getBoundingClientRect().height || 0;
    drawn = (time) => {
      recording?.push({ time, value, height });
      if (waiting && waiting.value === value) { waiting.resolve(time); waiting = null; }
    };
    channel.port2.postMessage(0);
    requestAnimationFrame(frame);
  };
  requestAnimationFrame(frame);
  addEventListener("keydown", (event) => { probe.key = event.timeStamp; }, true);
  probe.until = (value) => new Promise((resolve, reject) => {
    waiting = { value, resolve };
    setTimeout(() => reject(new Error(`no picture of ${value}; on show is ${look()}`)), 30000);
  });
  // A hand that pulls the slider from low to high: 60 new values in a second, none waits for the one before.
  probe.drag = async (slider, values = 60) => {
    recording = [];
    const begun = performance.now();
    let last = 0;
    for (let n = 1; n <= values; n++) {
      await new Promise((next) => setTimeout(next, begun + (n * 1000) / values - performance.now()));
      slider.value = n;
      last = performance.now();
      slider.dispatchEvent(new Event("input", { bubbles: true }));
    }
    const seen = await probe.until(values);
    await new Promise((next) => setTimeout(next, 400));
    const frames = recording;
    recording = null;
    return {
      seconds: (last - begun) / 1000,
      last: seen - last,
      pictures: new Set(frames.map((one) => one.value).filter((value) => value > 0)).size,
      blank: frames.filter((one) => one.value < 0).length,
      jump: Math.max(...frames.map((one) => Math.abs(one.height - frames[0].height))),
    };
  };
})();
