# One image for the site, its worker and its timer; docker-compose.yml says which of them a container is.
FROM python:3.11.13-slim-bookworm AS built
WORKDIR /studiodesk
ENV UV_PYTHON_DOWNLOADS=never UV_LINK_MODE=copy UV_COMPILE_BYTECODE=1 UV_PROJECT_ENVIRONMENT=/studiodesk/.venv
RUN pip install --no-cache-dir --disable-pip-version-check uv==0.9.8
COPY pyproject.toml uv.lock ./
RUN uv sync --frozen --no-dev

FROM python:3.11.13-slim-bookworm
RUN useradd --system --uid 10001 --user-group --home-dir /nonexistent --shell /usr/sbin/nologin studiodesk
WORKDIR /studiodesk
ENV PATH=/studiodesk/.venv/bin:$PATH PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
COPY --from=built /studiodesk/.venv ./.venv
COPY manage.py LICENCE ./
COPY deploy ./deploy
COPY examples ./examples
COPY studiodesk_site ./studiodesk_site
COPY studiodesk ./studiodesk
# Gathered as behind https. The key is a word for this one command: nothing is signed, and it is kept nowhere.
RUN STUDIODESK_HTTPS=1 STUDIODESK_SECRET_KEY=unused python manage.py collectstatic --noinput --verbosity 0
USER studiodesk
ENV STUDIODESK_HTTPS=1 STUDIODESK_BIND=0.0.0.0:8000
EXPOSE 8000
HEALTHCHECK --interval=15s --timeout=5s --start-period=30s --retries=3 CMD ["python", "deploy/healthy.py"]
CMD ["gunicorn", "--config", "deploy/gunicorn.conf.py", "studiodesk_site.wsgi"]
