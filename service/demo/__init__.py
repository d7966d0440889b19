"""An invented gym for trying the service out; it is made over HTTP, as the service's first client."""
