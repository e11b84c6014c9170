# syntax=docker/dockerfile:1
FROM python:3.11.14-slim-bookworm AS build
WORKDIR /src
COPY .ci/lock.txt .ci/lock.txt
COPY pyproject.toml README.md ./
COPY service service
COPY rules rules
COPY openapi openapi
RUN python -m venv /opt/gapwright
RUN /opt/gapwright/bin/pip install --no-cache-dir -c .ci/lock.txt ".[server]"
RUN /opt/gapwright/bin/python -m compileall -q /opt/gapwright/lib

FROM python:3.11.14-slim-bookworm
LABEL org.opencontainers.image.title="gapwright" \
      org.opencontainers.image.description="Rules for wire-mesh barriers round rooftop solar arrays, over HTTP"
ENV PATH="/opt/gapwright/bin:$PATH" PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1
COPY --from=build /opt/gapwright /opt/gapwright
RUN useradd --system --uid 10001 --no-create-home --shell /usr/sbin/nologin gapwright
USER 10001
EXPOSE 8642
HEALTHCHECK --interval=10s --timeout=2s --start-period=5s --retries=3 \
  CMD ["python", "-c", "import urllib.request; urllib.request.urlopen('http://127.0.0.1:8642/readyz', timeout=1)"]
# It writes nothing: run it with --read-only. Rules of your own: -v /your/rules:/rules:ro, and
# append --rules /rules to the command.
ENTRYPOINT ["gapwright"]
CMD ["serve", "--host", "0.0.0.0"]
