"""How long repairs have lasted, over many: gathered, estimated, drawn and written out."""
