"""How many learners one machine carries: `python3 tests class_load --learners 30`, as root.

Starts the class server with that many system users. All but one are light clients: each runs a lesson in its
own kernel, then moves sliders of its benches over the same websocket and with the same messages as a page,
in bursts of 8 to 15 keys, one every 1 to 3 s, with rests of 5 to 15 s. The last learner is a real Chromium.

- key to answer: from the moment a key is due to the whole answer with its picture, at the light client.
- key to pixels: from a trusted key press to the frame that shows the new picture, in the real browser.
- memory: each process's share (PSS); processor: all processes of the class server, without the clients.

The clients run on the same machine, so what they and others take is said as well.
"""
import argparse
import asyncio
import json
import os
import random
import statistics
import time
import uuid
from pathlib import Path

import nbformat

import _classroom
import browser
from coachwork.bootstrap import Trouble
from coachwork.commands.open import LESSONS
from coachwork.commands.refresh import find
from speed import machine, percentile

PROBE = """() => {
    window.addEventListener("keydown", event => { window.keyAt = event.timeStamp; }, true);
    window.seen = image => new Promise((done, fail) => {
        setTimeout(() => fail(new Error("no new picture in 20 s")), 20000);
        const watch = new MutationObserver(() => {
            watch.disconnect();
            requestAnimationFrame(() => {
                const after = new MessageChannel();             // answers when the frame has been drawn
                after.port1.onmessage = () => done(performance.now() - window.keyAt);
                after.port2.postMessage(0);
            });
        });
        watch.observe(image, { attributes: true, attributeFilter: ["src"] });
    });
}"""


def due_times(seconds):
    """When a learner presses a key, in s from the start: bursts and rests, at a human pace."""
    at = random.uniform(0, 10)
    while True:
        for _ in range(random.randint(8, 15)):
            at += random.uniform(1, 3)
            if at > seconds:
                return
            yield at
        at += random.uniform(5, 15)


class Light:
    """A learner without a browser: one kernel over the websocket that JupyterLab uses."""

    def __init__(self, room, name, ratio):
        self.room, self.name, self.ratio = room, name, ratio
        self.panels, self.waiting, self.answers = {}, {}, []

    async def open(self):
        from tornado.httpclient import HTTPRequest
        from tornado.websocket import websocket_connect

        await asyncio.to_thread(self.room.api, f"users/{self.name}", "POST")
        await asyncio.to_thread(self.room.api, f"users/{self.name}/server", "POST")
        await asyncio.to_thread(self.room.wait, self.started, f"the server of {self.name}", 180)
        place = f"/user/{self.name}/api/kernels"
        kernel = (await asyncio.to_thread(self.room.api, "", "POST", place))["id"]
        ask = HTTPRequest(f"ws://127.0.0.1:{self.room.port}{place}/{kernel}/channels",
                          headers={"Authorization": "token " + self.room.token}, request_timeout=120)
        self.socket = await websocket_connect(ask, subprotocols=["v1.kernel.websocket.jupyter.org"],
                                              max_message_size=2**27)
        self.reader = asyncio.create_task(self.read())

    def started(self):
        return self.room.api(f"users/{self.name}")["servers"].get("", {}).get("ready")

    async def read(self):
        from jupyter_server.services.kernels.connection.base import deserialize_msg_from_ws_v1

        while (raw := await self.socket.read_message()) is not None:
            _, parts = deserialize_msg_from_ws_v1(raw)
            header, parent, _, content = (json.loads(bytes(part)) for part in parts[:4])
            kind = header["msg_type"]
            if kind == "execute_reply":
                self.settle(parent["msg_id"], content["status"])
            elif kind == "comm_open" and content["target_name"] == "jupyter.widget":
                self.panels[content["comm_id"]] = content["data"]["state"]
            elif kind == "comm_msg" and content["data"].get("method") == "update":
                state = content["data"]["state"]
                self.panels.setdefault(content["comm_id"], {}).update(state)
                self.settle(tuple(state.get("answered", ())), len(parts) > 4)

    def settle(self, key, result):
        if future := self.waiting.pop(key, None):
            future.set_result(result)

    async def send(self, kind, content, key=None):
        """Send a message and return what comes back for `key` (default: the reply to the message itself)."""
        from jupyter_server.services.kernels.connection.base import serialize_msg_to_ws_v1

        header = dict(msg_id=uuid.uuid4().hex, msg_type=kind, username="", session=self.name, version="5.3",
                      date="2026-01-01T00:00:00Z")
        message = dict(header=header, parent_header={}, metadata={}, content=content, buffers=[])
        future = self.waiting[key or header["msg_id"]] = asyncio.get_running_loop().create_future()
        whole = serialize_msg_to_ws_v1(message, "shell", pack=lambda part: json.dumps(part).encode())
        await self.socket.write_message(b"".join(whole) if isinstance(whole, list) else whole, binary=True)
        return await asyncio.wait_for(future, 180)

    async def run(self, lesson):
        """Run all code cells."""
        for cell in lesson.cells:
            if cell.cell_type == "code":
                asked = dict(code=cell.source, silent=False, store_history=True, user_expressions={},
                             allow_stdin=False, stop_on_error=True)
                if await self.send("execute_request", asked) != "ok":
                    raise Trouble(f"{self.name}: a cell of the lesson failed: {cell.source[:80]!r}")
        benches = {comm: state for comm, state in self.panels.items() if state.get("frame")}    # panels with a picture
        self.moves = [(comm, part) for comm, state in benches.items() for part in sliders(state["parts"])]
        self.values = {comm: dict(state["values"]) for comm, state in benches.items()}
        for number, comm in enumerate(benches):
            await self.ask(comm, number)                    # as a page asks when it first shows a bench

    async def ask(self, comm, number):
        said = dict(view=self.name, number=number, press="", values=self.values[comm], ratio=self.ratio, draft=False)
        data = dict(method="custom", content=said)
        return await self.send("comm_msg", dict(comm_id=comm, data=data), (self.name, number))

    async def move(self, begun, seconds):
        """Move sliders; a key that comes while an answer is out waits, and its wait counts."""
        for number, due in enumerate(due_times(seconds), 1000):
            if number % 12 == 4 or number == 1000:
                comm, part = random.choice(self.moves)
            await asyncio.sleep(max(0, begun + due - time.monotonic()))
            value, step = self.values[comm][part["name"]], part["step"]
            up = value + step <= part["high"] and (value - step < part["low"] or random.random() < .7)
            self.values[comm][part["name"]] = value + step if up else value - step
            pictured = await self.ask(comm, number)
            self.answers.append((1000 * (time.monotonic() - begun - due), pictured))

    def close(self):
        self.reader.cancel()
        self.socket.close()


def sliders(parts):
    """All sliders of a panel, groups opened."""
    for part in parts:
        if part["kind"] == "slider":
            yield part
        yield from sliders(part.get("parts", []))


class Real:
    """The learner with a real browser: opened, then moved, in one thread."""

    def __init__(self, room, name, lesson, ratio):
        from playwright.sync_api import sync_playwright

        self.playwright = sync_playwright().start()
        self.chromium = self.playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        self.page = self.chromium.new_context(device_scale_factor=ratio).new_page()
        room.log_in(self.page, name)
        self.lesson = browser.Lesson(self, lesson, 1280, "light").__enter__()
        self.lesson.run_all(timeout=240)
        if self.lesson.move_slider(timeout=60) is not True:
            raise Trouble("The real browser saw no picture change.")
        self.page.evaluate(PROBE)

    def move(self, begun, seconds):
        """ms from key to pixels of each key press."""
        bench = self.page.locator(".jp-Notebook .jp-OutputArea-output:has(input[type=range]):has(img)").first
        image, found, way = bench.locator("img").first.element_handle(), [], "ArrowRight"
        slider = bench.locator("input[type=range]").first
        for due in due_times(seconds):
            self.page.wait_for_timeout(max(0, 1000 * (begun + due - time.monotonic())))
            slider.focus()
            at = slider.evaluate("s => (s.value - s.min) / (s.max - s.min)")
            way = "ArrowLeft" if at > .95 else "ArrowRight" if at < .05 else way
            seen = self.page.evaluate_handle("image => ({done: seen(image)})", image)
            self.page.keyboard.press(way)
            found.append(self.page.evaluate("async seen => await seen.done", seen))
        return found

    def close(self):
        self.chromium.close()
        self.playwright.stop()


def parts_of(room):
    """The processes of the class server, by what they are."""
    found = {"hub": [_classroom.Process(room.hub.pid)], "proxy": [], "culler": [], "server": [], "kernel": []}
    for pid in Path(f"/proc/{room.hub.pid}/task/{room.hub.pid}/children").read_text().split():
        words = " ".join(_classroom.Process(pid).words)
        kind = "proxy" if "configurable-http-proxy" in words else "culler" if "idle_culler" in words else None
        if kind:
            found[kind].append(_classroom.Process(pid))
    for name in room.names:
        for one in _classroom.processes(name):
            found["kernel" if "ipykernel_launcher" in one.words else "server"].append(one)
    return found


def busy():
    """Processor time of the whole machine so far, in s."""
    user, nice, system, _, _, irq, soft, *_ = map(int, Path("/proc/stat").read_text().split("\n")[0].split()[1:])
    return (user + nice + system + irq + soft) / os.sysconf("SC_CLK_TCK")


async def measure(room, wish):
    lesson = find(wish.lesson, sorted(LESSONS.glob("[0-9][0-9]-*.ipynb")))
    cells = nbformat.read(lesson, as_version=4)
    *names, last = room.names
    lights = [Light(room, name, wish.ratio) for name in names]
    begun = time.monotonic()
    few = asyncio.Semaphore(4)                              # learners do not arrive in the same second

    async def arrive(light):
        async with few:
            await light.open()
            await light.run(cells)

    await asyncio.gather(*map(arrive, lights))
    print(f"{len(lights)} learners started and ran {lesson.stem} in {time.monotonic() - begun:.0f} s", flush=True)
    from concurrent.futures import ThreadPoolExecutor

    loop, thread = asyncio.get_running_loop(), ThreadPoolExecutor(1)
    real = await loop.run_in_executor(thread, Real, room, last, lesson.stem, wish.ratio)
    started = sum(one.seconds() for kind in parts_of(room).values() for one in kind)
    print(f"processor time to get there: {started / len(room.names):.1f} s a learner", flush=True)

    before = {kind: sum(one.seconds() for one in found) for kind, found in parts_of(room).items()}
    begun, used, own = time.monotonic(), busy(), time.process_time()
    *_, pixels = await asyncio.gather(*(light.move(begun, wish.seconds) for light in lights),
                                      loop.run_in_executor(thread, real.move, begun, wish.seconds))
    took, used, own = time.monotonic() - begun, busy() - used, time.process_time() - own
    parts = parts_of(room)
    spent = {kind: sum(one.seconds() for one in found) - before[kind] for kind, found in parts.items()}
    memory = {kind: [one.memory() for one in found] for kind, found in parts.items()}
    await loop.run_in_executor(thread, real.close)
    for light in lights:
        light.close()
    report(wish, [answer for light in lights for answer in light.answers], pixels, took, used, own, spent, memory)


def report(wish, answers, pixels, took, used, own, spent, memory):
    times, keys = [ms for ms, _ in answers], len(answers) + len(pixels)
    line = "{:14} {:>5} keys, p50 {:.0f} ms, p95 {:.0f} ms, longest {:.0f} ms"
    print(line.format("key to answer", len(times), statistics.median(times), percentile(times, .95), max(times)),
          f"({sum(pictured for _, pictured in answers)} brought a new picture)")
    print(line.format("key to pixels", len(pixels), statistics.median(pixels), percentile(pixels, .95), max(pixels)))
    ours = sum(spent.values())
    print(f"in {took:.0f} s {keys / took:.1f} keys a second; class server {ours / took:.2f} cores "
          f"({', '.join(f'{kind} {seconds / took:.2f}' for kind, seconds in spent.items())}), "
          f"{1000 * ours / keys:.0f} ms a key; the light clients {own / took:.2f} cores, "
          f"the real browser and everybody else here {(used - ours - own) / took:.2f}")
    for kind, found in memory.items():
        print(f"memory {kind:7} {len(found):3}: {statistics.mean(found):.0f} MB each, {max(found):.0f} MB at most")
    each = (sum(memory["server"]) + sum(memory["kernel"])) / len(memory["server"])
    print(f"memory of all {sum(map(sum, memory.values())):.0f} MB, of which {each:.0f} MB a learner")


def main(argv):
    words = argparse.ArgumentParser(prog="tests class_load", description=__doc__.split("\n")[0])
    words.add_argument("--learners", type=int, default=30, help="how many (default 30)")
    words.add_argument("--seconds", type=float, default=90, help="how long they move sliders (default 90)")
    words.add_argument("--lesson", default="01", help="01, energy or 01-energy (default 01)")
    words.add_argument("--ratio", type=float, default=2, help="screen pixels to a CSS pixel (default 2, a fine screen)")
    wish = words.parse_args(argv)
    if why := _classroom.missing() or (None if browser.chromium() else browser.NONE_FOUND):
        raise Trouble(why)
    if wish.learners < 2:
        raise Trouble(f"--learners {wish.learners} is given; wanted are 2 or more, one of them the real browser.")
    print(machine())
    with _classroom.Classroom(wish.learners) as room:
        asyncio.run(measure(room, wish))
    return 0
