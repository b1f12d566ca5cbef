"""A front-end for tests: jupyter_client, driven by JSON lines.

Reads one command a line from standard input and answers each with one line; every message that arrives on any
channel in between is part of the answer. Commands are documented beside their functions.
"""
import json
import queue
import subprocess
import sys
import time

from jupyter_client.manager import KernelManager

manager = None
client = None


def plain(message, channel):
    return {
        "channel": channel,
        "type": message["header"]["msg_type"],
        "id": message["header"]["msg_id"],
        "parent": message["parent_header"].get("msg_id"),
        "content": message["content"],
        "at": time.monotonic(),
    }


def start(name, cwd):
    """Starts a kernel and waits until a client may use it."""
    global manager, client
    began = time.monotonic()
    manager = KernelManager(kernel_name=name)
    # Node makes the streams it inherits non-blocking, and this one would then lose long lines
    manager.start_kernel(cwd=cwd, stdout=subprocess.DEVNULL)
    client = manager.client()
    client.start_channels()
    client.wait_for_ready(timeout=30)
    return {"seconds": time.monotonic() - began, "pid": manager.provisioner.pid, "connection": manager.connection_file}


def send(channel, type, content):
    """Sends a request and comes back at once."""
    message = client.session.msg(type, content)
    getattr(client, channel + "_channel").send(message)
    return {"id": message["header"]["msg_id"], "at": time.monotonic()}


def send_all(channel, requests):
    """Sends several requests at once, as a front-end does that runs all cells."""
    return [send(channel, *request) for request in requests]


def take(timeout=0.0):
    """All messages that arrive within a time."""
    until = time.monotonic() + timeout
    messages = []
    while True:
        found = False
        for channel in ("iopub", "shell", "control"):
            try:
                messages.append(plain(getattr(client, f"get_{channel}_msg")(timeout=0), channel))
                found = True
            except queue.Empty:
                pass
        if not found:
            if time.monotonic() >= until:
                return {"messages": messages}
            time.sleep(0.002)


def ask(channel, type, content, timeout=20):
    """Sends a request and collects messages until it is answered and the kernel idle again."""
    sent = send(channel, type, content)
    messages = []
    until = time.monotonic() + timeout
    replied = idle = False
    expects_reply = type.endswith("_request")
    while time.monotonic() < until and not (idle and (replied or not expects_reply)):
        for message in take(0.0)["messages"]:
            messages.append(message)
            if message["parent"] == sent["id"]:
                replied = replied or message["channel"] == channel
                idle = idle or (message["type"] == "status" and message["content"]["execution_state"] == "idle")
        time.sleep(0.002)
    return {**sent, "messages": messages, "done": time.monotonic(), "complete": idle and (replied or not expects_reply)}


def interrupt():
    """The way in which a front-end's button interrupts, as the kernelspec asks for."""
    at = time.monotonic()
    manager.interrupt_kernel()
    return {"at": at}


def is_alive():
    return {"alive": manager.is_alive(), "beating": client.hb_channel.is_beating()}


def raw(channel, frames):
    """Sends frames as they are, base64 each."""
    import base64

    getattr(client, channel + "_channel").socket.send_multipart([base64.b64decode(frame) for frame in frames])
    return {}


def stop(now=False):
    began = time.monotonic()
    manager.shutdown_kernel(now=now)
    client.stop_channels()
    return {"seconds": time.monotonic() - began}


COMMANDS = {f.__name__: f for f in (start, send, send_all, take, ask, interrupt, is_alive, raw, stop)}

for line in sys.stdin:
    command, arguments = json.loads(line)
    try:
        answer = COMMANDS[command](**arguments)
    except Exception as error:  # told to the test
        answer = {"failed": f"{type(error).__name__}: {error}"}
    print(json.dumps(answer, default=str), flush=True)
