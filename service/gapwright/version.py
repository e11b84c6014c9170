"""The version of the engine, named in every answer; the package takes its version from here."""

ENGINE = "0.2.0"
