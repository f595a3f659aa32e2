"""The server: what phones, officers and leads ask of the store, over HTTP."""
