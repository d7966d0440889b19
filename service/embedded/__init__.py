"""The PostgreSQL that starts when no server is named: a real one, in a folder of the user's.

``start`` gives a running server, whoever started it; ``Server.stop`` leaves it running while another process uses it.
"""

from service.embedded.errors import EmbeddedError
from service.embedded.roles import prepare_service_role
from service.embedded.server import Server, default_folder, start

__all__ = ["EmbeddedError", "Server", "default_folder", "prepare_service_role", "start"]
