"""A mail server on loopback (aiosmtpd), and a check of what it was given by Python's own email package.

serve FOLDER [--tls CERTIFICATE KEY | --starttls CERTIFICATE KEY] [--login USER PASSWORD]
    prints the port, keeps every letter in FOLDER, ends with its standard input
read FOLDER
    prints what was kept as JSON, a list of letters
"""

import argparse
import email
import email.policy
import json
import pathlib
import socket
import ssl
import sys


def serve(arguments):
    from aiosmtpd.controller import Controller
    from aiosmtpd.smtp import AuthResult, LoginPassword

    class Keeper:
        count = 0

        async def handle_DATA(self, server, session, envelope):
            name = arguments.folder / f"{self.count:05}"
            Keeper.count += 1
            name.with_suffix(".eml").write_bytes(envelope.original_content)
            about = {"from": envelope.mail_from, "to": envelope.rcpt_tos, "tls": session.ssl is not None}
            name.with_suffix(".json").write_text(json.dumps(about))
            return "250 2.0.0 kept"

    def login(server, session, envelope, mechanism, data):
        wanted = arguments.login
        good = isinstance(data, LoginPassword) and [data.login.decode(), data.password.decode()] == wanted
        return AuthResult(success=good, handled=good)

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    pair = arguments.tls or arguments.starttls
    context = None
    if pair:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*pair)
    more = {"authenticator": login, "auth_required": True} if arguments.login else {}
    if arguments.tls:
        # With TLS from the first byte the server cannot see by itself that the way is kept.
        more["auth_require_tls"] = False
        controller = Controller(Keeper(), hostname="127.0.0.1", port=port, ssl_context=context, **more)
    elif arguments.starttls:
        controller = Controller(
            Keeper(), hostname="127.0.0.1", port=port, tls_context=context, require_starttls=True, **more
        )
    else:
        controller = Controller(Keeper(), hostname="127.0.0.1", port=port, **more)
    controller.start()
    print(port, flush=True)
    sys.stdin.read()
    controller.stop()


def read(arguments):
    letters = []
    for path in sorted(arguments.folder.glob("*.eml")):
        about = json.loads(path.with_suffix(".json").read_text())
        raw = path.read_bytes()
        message = email.message_from_bytes(raw, policy=email.policy.default)
        body = message.get_body(("plain",))
        letters.append(
            {
                "envelope": about,
                "headers": {name.lower(): str(value) for name, value in message.items()},
                "count": len(message.keys()),
                "to": [[a.display_name, a.addr_spec] for a in message["to"].addresses],
                "from": [[a.display_name, a.addr_spec] for a in message["from"].addresses],
                "date": message["date"].datetime.isoformat(),
                "type": message.get_content_type(),
                "text": body.get_content().replace("\r\n", "\n") if body else None,
                "defects": [str(d) for part in message.walk() for d in part.defects]
                + [str(d) for name in message.keys() for d in message[name].defects],
                "longest_line": max(len(line) for line in raw.split(b"\r\n")),
                "bare_line_ends": raw.replace(b"\r\n", b"").count(b"\n"),
            }
        )
    print(json.dumps(letters))


parser = argparse.ArgumentParser()
commands = parser.add_subparsers(required=True)
server = commands.add_parser("serve")
server.add_argument("folder", type=pathlib.Path)
server.add_argument("--tls", nargs=2)
server.add_argument("--starttls", nargs=2)
server.add_argument("--login", nargs=2)
server.set_defaults(run=serve)
reader = commands.add_parser("read")
reader.add_argument("folder", type=pathlib.Path)
reader.set_defaults(run=read)
parsed = parser.parse_args()
parsed.run(parsed)
