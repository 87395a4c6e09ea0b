--
-- PostgreSQL database dump
--


-- Dumped from database version 15.18 (Debian 15.18-0+deb12u1)
-- Dumped by pg_dump version 15.18 (Debian 15.18-0+deb12u1)

SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

SET default_tablespace = '';

SET default_table_access_method = heap;

--
-- Name: ask; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.ask (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    breed text COLLATE pg_catalog."C",
    station text COLLATE pg_catalog."C",
    says text COLLATE pg_catalog."C"
);


--
-- Name: attempt; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.attempt (
    id bigint NOT NULL,
    address text NOT NULL COLLATE pg_catalog."C",
    at bigint NOT NULL,
    was_typed boolean NOT NULL
);


--
-- Name: attempt_id_seq; Type: SEQUENCE; Schema: public; Owner: -
--

CREATE SEQUENCE public.attempt_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;


--
-- Name: attempt_id_seq; Type: SEQUENCE OWNED BY; Schema: public; Owner: -
--

ALTER SEQUENCE public.attempt_id_seq OWNED BY public.attempt.id;


--
-- Name: award; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.award (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    day text COLLATE pg_catalog."C",
    body text COLLATE pg_catalog."C",
    what text COLLATE pg_catalog."C",
    judge text COLLATE pg_catalog."C",
    judge_country text COLLATE pg_catalog."C",
    country text COLLATE pg_catalog."C",
    show text COLLATE pg_catalog."C",
    level text COLLATE pg_catalog."C",
    klass text COLLATE pg_catalog."C",
    points double precision,
    major boolean,
    competing double precision,
    champions double precision
);


--
-- Name: change; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.change (
    seq bigint NOT NULL,
    id text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    record text NOT NULL COLLATE pg_catalog."C",
    field text NOT NULL COLLATE pg_catalog."C",
    value text NOT NULL COLLATE pg_catalog."C",
    stamp text NOT NULL COLLATE pg_catalog."C",
    raw text NOT NULL COLLATE pg_catalog."C",
    base text NOT NULL COLLATE pg_catalog."C",
    device text NOT NULL COLLATE pg_catalog."C",
    received bigint NOT NULL
);


--
-- Name: change_seq_seq; Type: SEQUENCE; Schema: public; Owner: -
--

CREATE SEQUENCE public.change_seq_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;


--
-- Name: change_seq_seq; Type: SEQUENCE OWNED BY; Schema: public; Owner: -
--

ALTER SEQUENCE public.change_seq_seq OWNED BY public.change.seq;


--
-- Name: code; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.code (
    link text NOT NULL COLLATE pg_catalog."C",
    typed text NOT NULL COLLATE pg_catalog."C",
    role text NOT NULL COLLATE pg_catalog."C",
    made bigint NOT NULL,
    used bigint,
    tries integer NOT NULL
);


--
-- Name: contested; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.contested (
    key bigint NOT NULL,
    id text NOT NULL COLLATE pg_catalog."C",
    content text NOT NULL COLLATE pg_catalog."C",
    received bigint NOT NULL
);


--
-- Name: contested_key_seq; Type: SEQUENCE; Schema: public; Owner: -
--

CREATE SEQUENCE public.contested_key_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;


--
-- Name: contested_key_seq; Type: SEQUENCE OWNED BY; Schema: public; Owner: -
--

ALTER SEQUENCE public.contested_key_seq OWNED BY public.contested.key;


--
-- Name: cue; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.cue (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    station text COLLATE pg_catalog."C",
    line text COLLATE pg_catalog."C"
);


--
-- Name: device; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.device (
    id text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    role text NOT NULL COLLATE pg_catalog."C",
    token text NOT NULL COLLATE pg_catalog."C",
    paired bigint NOT NULL,
    seen bigint NOT NULL,
    revoked bigint
);


--
-- Name: dog; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.dog (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    name text COLLATE pg_catalog."C",
    pedigree text COLLATE pg_catalog."C",
    breed text COLLATE pg_catalog."C",
    sex text COLLATE pg_catalog."C",
    born text COLLATE pg_catalog."C",
    surface text COLLATE pg_catalog."C",
    body text COLLATE pg_catalog."C",
    short_faced boolean,
    neutered boolean,
    testes text COLLATE pg_catalog."C",
    testes_on text COLLATE pg_catalog."C",
    microchip text COLLATE pg_catalog."C",
    registration text COLLATE pg_catalog."C",
    born_in text COLLATE pg_catalog."C"
);


--
-- Name: entry; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.entry (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    show text COLLATE pg_catalog."C",
    klass text COLLATE pg_catalog."C",
    day text COLLATE pg_catalog."C",
    judge text COLLATE pg_catalog."C",
    ring text COLLATE pg_catalog."C",
    "time" text COLLATE pg_catalog."C",
    armband text COLLATE pg_catalog."C"
);


--
-- Name: gate; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.gate (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    entry text COLLATE pg_catalog."C",
    item text COLLATE pg_catalog."C",
    state text COLLATE pg_catalog."C",
    at text COLLATE pg_catalog."C"
);


--
-- Name: kit; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.kit (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    line text COLLATE pg_catalog."C"
);


--
-- Name: measure; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.measure (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    what text COLLATE pg_catalog."C",
    value double precision,
    unit text COLLATE pg_catalog."C",
    day text COLLATE pg_catalog."C"
);


--
-- Name: meta; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.meta (
    key text NOT NULL COLLATE pg_catalog."C",
    value text NOT NULL COLLATE pg_catalog."C"
);


--
-- Name: note; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.note (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    station text COLLATE pg_catalog."C",
    text text COLLATE pg_catalog."C"
);


--
-- Name: own_order; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.own_order (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    label text COLLATE pg_catalog."C",
    stations text COLLATE pg_catalog."C"
);


--
-- Name: practice; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.practice (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    walk text COLLATE pg_catalog."C",
    station text COLLATE pg_catalog."C",
    grade text COLLATE pg_catalog."C",
    handler text COLLATE pg_catalog."C",
    at text COLLATE pg_catalog."C"
);


--
-- Name: show; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.show (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    name text COLLATE pg_catalog."C",
    body text COLLATE pg_catalog."C",
    level text COLLATE pg_catalog."C",
    day text COLLATE pg_catalog."C",
    until text COLLATE pg_catalog."C",
    place text COLLATE pg_catalog."C"
);


--
-- Name: tick; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.tick (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    walk text COLLATE pg_catalog."C",
    station text COLLATE pg_catalog."C",
    state text COLLATE pg_catalog."C",
    at text COLLATE pg_catalog."C"
);


--
-- Name: walk; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.walk (
    id text NOT NULL COLLATE pg_catalog."C",
    cells text NOT NULL COLLATE pg_catalog."C",
    deleted boolean,
    dog text COLLATE pg_catalog."C",
    mode text COLLATE pg_catalog."C",
    stations text COLLATE pg_catalog."C",
    place text COLLATE pg_catalog."C",
    began text COLLATE pg_catalog."C",
    ended text COLLATE pg_catalog."C"
);


--
-- Name: attempt id; Type: DEFAULT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.attempt ALTER COLUMN id SET DEFAULT nextval('public.attempt_id_seq'::regclass);


--
-- Name: change seq; Type: DEFAULT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.change ALTER COLUMN seq SET DEFAULT nextval('public.change_seq_seq'::regclass);


--
-- Name: contested key; Type: DEFAULT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.contested ALTER COLUMN key SET DEFAULT nextval('public.contested_key_seq'::regclass);


--
-- Data for Name: ask; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: attempt; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: award; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.award VALUES ('6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', '{"body":{"stamp":"0199c82cc000-011a-8ed88f162593","value":"AKC"},"day":{"stamp":"0199c82cc000-0122-8ed88f162593","value":"2026-02-01"},"dog":{"stamp":"0199c82cc000-0118-8ed88f162593","value":"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"},"judge":{"stamp":"0199c82cc000-011e-8ed88f162593","value":"A. Fennel"},"points":{"stamp":"0199c82cc000-0120-8ed88f162593","value":4},"what":{"stamp":"0199c82cc000-011c-8ed88f162593","value":"winners"}}', NULL, 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', '2026-02-01', 'AKC', 'winners', 'A. Fennel', NULL, NULL, NULL, NULL, NULL, 4, NULL, NULL, NULL);
INSERT INTO public.award VALUES ('f8ae9fc8-d450-58bc-966f-a3800d38a9d6', '{"body":{"stamp":"0199c82cc000-0126-8ed88f162593","value":"AKC"},"day":{"stamp":"0199c82cc000-012e-8ed88f162593","value":"2026-05-02"},"dog":{"stamp":"0199c82cc000-0124-8ed88f162593","value":"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"},"judge":{"stamp":"0199c82cc000-012a-8ed88f162593","value":"B. Sorrel"},"points":{"stamp":"0199c82cc000-012c-8ed88f162593","value":3},"what":{"stamp":"0199c82cc000-0128-8ed88f162593","value":"winners"}}', NULL, 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', '2026-05-02', 'AKC', 'winners', 'B. Sorrel', NULL, NULL, NULL, NULL, NULL, 3, NULL, NULL, NULL);
INSERT INTO public.award VALUES ('dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', '{"body":{"stamp":"0199c82cc000-0132-8ed88f162593","value":"AKC"},"day":{"stamp":"0199c82cc000-013a-8ed88f162593","value":"2026-08-30"},"dog":{"stamp":"0199c82cc000-0130-8ed88f162593","value":"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"},"judge":{"stamp":"0199c82cc000-0136-8ed88f162593","value":"C. Yarrow"},"points":{"stamp":"0199c82cc000-0138-8ed88f162593","value":2},"what":{"stamp":"0199c82cc000-0134-8ed88f162593","value":"winners"}}', NULL, 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', '2026-08-30', 'AKC', 'winners', 'C. Yarrow', NULL, NULL, NULL, NULL, NULL, 2, NULL, NULL, NULL);


--
-- Data for Name: change; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.change VALUES (1, 'f5f24011-faef-549c-8ce3-710262e7a230', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'name', '"Bramble"', '0199c82cc000-0000-8ed88f162593', '0199c82cc000-0000-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (2, '962abb3e-2646-5c34-95c9-c52c16c2e1f3', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'pedigree', '"Marrowby Bramble Path"', '0199c82cc000-0002-8ed88f162593', '0199c82cc000-0002-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (3, '77236932-d7c4-5d9c-90a4-5ff5bcbf17ed', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'breed', '"border-terrier"', '0199c82cc000-0004-8ed88f162593', '0199c82cc000-0004-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (4, '0ad5f894-13e8-5f2c-a183-e1014d6f32ce', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'sex', '"bitch"', '0199c82cc000-0006-8ed88f162593', '0199c82cc000-0006-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (5, '250d7be8-5d37-5cf8-9ab9-a0350a8a8ea1', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'born', '"2024-08-28"', '0199c82cc000-0008-8ed88f162593', '0199c82cc000-0008-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (6, '688cf07d-6c4d-58fb-8c2c-2b7dcc4d5f3d', 'dog', '20fb1366-34b9-5bb9-bf18-614375a0907f', 'body', '"KC"', '0199c82cc000-000a-8ed88f162593', '0199c82cc000-000a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (7, '5e7a3075-b6f0-53f5-bfe2-e5d891c10dc3', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'name', '"Gustav"', '0199c82cc000-000c-8ed88f162593', '0199c82cc000-000c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (8, '53ed3eb1-1acf-5297-81ec-e8861b4972d7', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'pedigree', '"Marrowby Pocket Thunder"', '0199c82cc000-000e-8ed88f162593', '0199c82cc000-000e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (9, 'fcd14deb-cb6e-512f-a6f3-dfdd60737f81', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'breed', '"french-bulldog"', '0199c82cc000-0010-8ed88f162593', '0199c82cc000-0010-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (10, '3228dd26-3020-5dfc-a01a-bf90735db84f', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'sex', '"dog"', '0199c82cc000-0012-8ed88f162593', '0199c82cc000-0012-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (11, '58d14669-39c6-5513-babc-b31a66c37437', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'born', '"2025-04-29"', '0199c82cc000-0014-8ed88f162593', '0199c82cc000-0014-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (12, '53a9baf0-f40d-59f6-ae38-1a2ddc7ea6a2', 'dog', '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'body', '"FCI"', '0199c82cc000-0016-8ed88f162593', '0199c82cc000-0016-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (13, '1c08390e-cdbe-50e5-ba7b-ebd98d386551', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'name', '"Drift"', '0199c82cc000-0018-8ed88f162593', '0199c82cc000-0018-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (14, 'cc1d544b-cec1-51b4-9de9-46e63144ba60', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'pedigree', '"Marrowby Slow Snowfall"', '0199c82cc000-001a-8ed88f162593', '0199c82cc000-001a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (15, '59606199-ea82-5688-ab09-911ed4f3ff23', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'breed', '"samoyed"', '0199c82cc000-001c-8ed88f162593', '0199c82cc000-001c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (16, 'daa61a40-65e9-5159-b843-47f9b6ce9782', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'sex', '"dog"', '0199c82cc000-001e-8ed88f162593', '0199c82cc000-001e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (17, 'b72af43c-1eca-513a-ad3c-2da73d7c7ce4', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'born', '"2023-03-30"', '0199c82cc000-0020-8ed88f162593', '0199c82cc000-0020-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (18, 'e363c53c-12a5-5b18-a7cf-025f60dcc626', 'dog', 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'body', '"AKC"', '0199c82cc000-0022-8ed88f162593', '0199c82cc000-0022-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (19, 'a1ebaea7-fb50-59f2-80d3-9e0b35d07ec7', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'name', '"Puddle"', '0199c82cc000-0024-8ed88f162593', '0199c82cc000-0024-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (20, 'b19106b3-0af9-5b58-ae52-46c01722bd19', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'pedigree', '"Marrowby Rain Gauge"', '0199c82cc000-0026-8ed88f162593', '0199c82cc000-0026-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (21, '1ca4c4b1-ed8c-56ff-80ca-ac73acb49fc1', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'breed', '"labrador-retriever"', '0199c82cc000-0028-8ed88f162593', '0199c82cc000-0028-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (22, 'd0a11afe-b917-5bd6-b7e4-a4a218b54744', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'sex', '"bitch"', '0199c82cc000-002a-8ed88f162593', '0199c82cc000-002a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (23, 'eb8a9cda-354a-5753-bd9d-a1d28ba7e3d0', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'born', '"2026-03-29"', '0199c82cc000-002c-8ed88f162593', '0199c82cc000-002c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (24, '416638ed-6f38-5d52-b632-c642e4d9e6a9', 'dog', '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'body', '"FCI"', '0199c82cc000-002e-8ed88f162593', '0199c82cc000-002e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (25, 'c27efb64-ff44-5663-a32f-ad3823aba087', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'name', '"Teasel"', '0199c82cc000-0030-8ed88f162593', '0199c82cc000-0030-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (26, 'f77afc76-07d7-5d5b-a7b2-9e27e2e1c003', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'pedigree', '"Marrowby Low Hedge"', '0199c82cc000-0032-8ed88f162593', '0199c82cc000-0032-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (27, '107f9342-f57c-5f51-b501-e8db232a9879', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'breed', '"cardigan-welsh-corgi"', '0199c82cc000-0034-8ed88f162593', '0199c82cc000-0034-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (28, '3d359b5b-794a-5454-859a-b92fe43758de', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'sex', '"dog"', '0199c82cc000-0036-8ed88f162593', '0199c82cc000-0036-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (29, 'a253aec0-5c3e-5fcd-9f14-ab639fcfc342', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'born', '"2025-10-28"', '0199c82cc000-0038-8ed88f162593', '0199c82cc000-0038-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (30, '8d7cba42-4ec4-5278-a342-a5d012aa3845', 'dog', '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'body', '"FCI"', '0199c82cc000-003a-8ed88f162593', '0199c82cc000-003a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (31, '415e6237-8d3b-5cfb-afff-3249a885d81d', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'name', '"Wick"', '0199c82cc000-003c-8ed88f162593', '0199c82cc000-003c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (32, '38cbc7ab-a793-53da-adba-f2b7d46a0159', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'pedigree', '"Marrowby Candle End"', '0199c82cc000-003e-8ed88f162593', '0199c82cc000-003e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (33, 'a591be4d-49cc-56ea-9409-f07373d38201', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'breed', '"border-terrier"', '0199c82cc000-0040-8ed88f162593', '0199c82cc000-0040-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (34, 'bbf27339-24ef-5dbf-9516-cb4b8ea8ccf5', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'sex', '"dog"', '0199c82cc000-0042-8ed88f162593', '0199c82cc000-0042-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (35, 'cf25b6d4-4552-564f-ac63-7ba3d047f0db', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'born', '"2026-06-09"', '0199c82cc000-0044-8ed88f162593', '0199c82cc000-0044-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (36, '89a0e6fc-b958-54e7-a762-3001f1fd3ab1', 'dog', 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'body', '"KC"', '0199c82cc000-0046-8ed88f162593', '0199c82cc000-0046-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (37, '96b1330c-206d-541e-827d-4292c97267aa', 'note', '6e90806f-fc24-58e1-8736-9cb2307e3419', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-0048-8ed88f162593', '0199c82cc000-0048-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (38, 'a3d6fddb-a53d-5ff9-92b5-3fe5b478e479', 'note', '6e90806f-fc24-58e1-8736-9cb2307e3419', 'station', '"bite"', '0199c82cc000-004a-8ed88f162593', '0199c82cc000-004a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (39, '0d9ff735-7f86-573b-934e-286bba36acc4', 'note', '6e90806f-fc24-58e1-8736-9cb2307e3419', 'text', '"Lower left corner incisor sits a hair inside. Show the right side first, and do not linger."', '0199c82cc000-004c-8ed88f162593', '0199c82cc000-004c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (40, '577be3d8-9ad1-5f92-bb02-6ecea6c8b886', 'note', 'b5b967c2-dbb8-5c77-a2df-59cef8ca2bd1', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-004e-8ed88f162593', '0199c82cc000-004e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (41, '9fae3d82-d20b-5db8-b687-78d707dc0191', 'note', 'b5b967c2-dbb8-5c77-a2df-59cef8ca2bd1', 'station', '"topline"', '0199c82cc000-0050-8ed88f162593', '0199c82cc000-0050-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (42, 'c044d8e3-c6ff-5530-bcb7-832d15d6dbef', 'note', 'b5b967c2-dbb8-5c77-a2df-59cef8ca2bd1', 'text', '"Roaches a little when she is cold. Walk her out once before we go in."', '0199c82cc000-0052-8ed88f162593', '0199c82cc000-0052-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (43, 'bcb03af3-f881-50ca-b5b7-54d129c94d29', 'note', 'ee94148d-1239-5196-adb6-ce72f625b7ee', 'dog', '"966aeb59-d8bd-50eb-95d8-1242d2e658f8"', '0199c82cc000-0054-8ed88f162593', '0199c82cc000-0054-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (44, '7b987433-0678-5e4e-9964-e42519f62b27', 'note', 'ee94148d-1239-5196-adb6-ce72f625b7ee', 'station', '"down_and_back"', '0199c82cc000-0056-8ed88f162593', '0199c82cc000-0056-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (45, 'f41e57ee-be0a-552e-8938-2ba217fe62b3', 'note', 'ee94148d-1239-5196-adb6-ce72f625b7ee', 'text', '"Pants after one lap. Slow walk to the ring, cool coat on until the class is called."', '0199c82cc000-0058-8ed88f162593', '0199c82cc000-0058-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (46, '562418e1-68e2-51f8-bb09-72b5b91aafe6', 'note', 'e8e49fd7-1244-5d84-8ee2-3182a2355e74', 'dog', '"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"', '0199c82cc000-005a-8ed88f162593', '0199c82cc000-005a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (47, '29f0c9b6-23ac-55c0-a1b6-7bded1aec256', 'note', 'e8e49fd7-1244-5d84-8ee2-3182a2355e74', 'station', '"neck"', '0199c82cc000-005c-8ed88f162593', '0199c82cc000-005c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (48, '1ef42233-18ab-5375-8242-3ad2ae46879e', 'note', 'e8e49fd7-1244-5d84-8ee2-3182a2355e74', 'text', '"Ruff bunches under the collar: lead high, comb through after the judge''s hands."', '0199c82cc000-005e-8ed88f162593', '0199c82cc000-005e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (49, '3bb2210d-ad81-5a39-89c4-6f97379c5495', 'note', 'c42d8690-f039-52a1-8be7-150b8a2412a3', 'dog', '"8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7"', '0199c82cc000-0060-8ed88f162593', '0199c82cc000-0060-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (50, '1e631744-794c-5e68-af99-01637f6e5baa', 'note', 'c42d8690-f039-52a1-8be7-150b8a2412a3', 'station', '"free_stack"', '0199c82cc000-0062-8ed88f162593', '0199c82cc000-0062-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (51, '9a9276a9-8b45-5849-938d-638b2bf78888', 'note', 'c42d8690-f039-52a1-8be7-150b8a2412a3', 'text', '"Bait held low, or she steps forward and stands under herself."', '0199c82cc000-0064-8ed88f162593', '0199c82cc000-0064-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (52, 'd1d2498d-ef78-5e52-a48a-762cffeff08f', 'note', '00e299b1-9de8-5c0a-a577-4a68dc66ea38', 'dog', '"33856e1a-eb0e-57e6-90e0-3f8a73338c50"', '0199c82cc000-0066-8ed88f162593', '0199c82cc000-0066-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (53, '456c7dcf-64b6-5987-9eff-8fc0da8ee31d', 'note', '00e299b1-9de8-5c0a-a577-4a68dc66ea38', 'station', '"testes"', '0199c82cc000-0068-8ed88f162593', '0199c82cc000-0068-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (54, '3f24b630-1506-541f-b6e3-856edd4aa49f', 'note', '00e299b1-9de8-5c0a-a577-4a68dc66ea38', 'text', '"Sits when a stranger reaches behind. Helper practises every evening."', '0199c82cc000-006a-8ed88f162593', '0199c82cc000-006a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (55, '5c5ac640-0cf9-5dbb-b2e8-2ab4a5c22bcb', 'cue', 'a8d998a8-b4ba-56e5-84fc-87aa45394c6d', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-006c-8ed88f162593', '0199c82cc000-006c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (56, 'cafd057f-2e91-550c-b179-7d5d9b50b9d7', 'cue', 'a8d998a8-b4ba-56e5-84fc-87aa45394c6d', 'station', '"head"', '0199c82cc000-006e-8ed88f162593', '0199c82cc000-006e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (57, '1455d476-cd34-5840-b340-53cd65f1d45c', 'cue', 'a8d998a8-b4ba-56e5-84fc-87aa45394c6d', 'line', '"Let her sniff, then still"', '0199c82cc000-0070-8ed88f162593', '0199c82cc000-0070-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (58, '6d7b66f7-6820-52b0-a27c-a5df953321e0', 'cue', '2b52bc6d-4c76-5bdc-9d9f-e7ef179abb71', 'dog', '"966aeb59-d8bd-50eb-95d8-1242d2e658f8"', '0199c82cc000-0072-8ed88f162593', '0199c82cc000-0072-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (59, '00f7fc95-bced-5129-80d0-454d118cf6ec', 'cue', '2b52bc6d-4c76-5bdc-9d9f-e7ef179abb71', 'station', '"bite"', '0199c82cc000-0074-8ed88f162593', '0199c82cc000-0074-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (60, '3bbabf38-24cc-53cb-9e98-fc4acff4583a', 'cue', '2b52bc6d-4c76-5bdc-9d9f-e7ef179abb71', 'line', '"Quick flip, then a breath"', '0199c82cc000-0076-8ed88f162593', '0199c82cc000-0076-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (61, 'f1718609-6317-52ab-8f40-cc98b7bf652b', 'order', 'b085e742-75e3-5143-99fb-062c69f0a81a', 'dog', '"33856e1a-eb0e-57e6-90e0-3f8a73338c50"', '0199c82cc000-0078-8ed88f162593', '0199c82cc000-0078-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (62, '03a927d6-e460-5364-b82d-8ad9d3be4834', 'order', 'b085e742-75e3-5143-99fb-062c69f0a81a', 'label', '"Judge who starts at the bite"', '0199c82cc000-007a-8ed88f162593', '0199c82cc000-007a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (63, 'dc4c9de6-133e-52a3-8e23-1c9337dcd14f', 'order', 'b085e742-75e3-5143-99fb-062c69f0a81a', 'stations', '["bite","head","eyes","ears","neck","shoulders","topline","knees","testes"]', '0199c82cc000-007c-8ed88f162593', '0199c82cc000-007c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (64, '4bc8b325-fed1-5483-b042-611e6f9c9faa', 'practice', '19ce7767-328d-5b1b-8667-a8afbf660765', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-007e-8ed88f162593', '0199c82cc000-007e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (65, '9cbdb6d6-d401-57d9-97c9-57ba2e366ae5', 'practice', '19ce7767-328d-5b1b-8667-a8afbf660765', 'station', '"head"', '0199c82cc000-0080-8ed88f162593', '0199c82cc000-0080-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (66, '789f250e-fc10-5832-9ad7-06e4afcb6238', 'practice', '19ce7767-328d-5b1b-8667-a8afbf660765', 'grade', '"easy"', '0199c82cc000-0082-8ed88f162593', '0199c82cc000-0082-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (67, '3a508e3e-3b88-512f-b54b-1084b829cd22', 'practice', '19ce7767-328d-5b1b-8667-a8afbf660765', 'at', '"2026-11-26T17:30:00.000Z"', '0199c82cc000-0084-8ed88f162593', '0199c82cc000-0084-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (68, 'c77a08aa-84b2-5e36-93c1-a95ef9006cc3', 'practice', '46baae8c-1ee8-5e8e-bb5e-2f2e222eca98', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-0086-8ed88f162593', '0199c82cc000-0086-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (69, '7df91c3e-ea7e-5101-99a5-a8a9837f87ae', 'practice', '46baae8c-1ee8-5e8e-bb5e-2f2e222eca98', 'station', '"eyes"', '0199c82cc000-0088-8ed88f162593', '0199c82cc000-0088-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (70, '2bfe661e-00d6-546c-a389-1a4035b1addb', 'practice', '46baae8c-1ee8-5e8e-bb5e-2f2e222eca98', 'grade', '"easy"', '0199c82cc000-008a-8ed88f162593', '0199c82cc000-008a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (71, '1e74531c-be13-5448-9109-1f3b79324eb4', 'practice', '46baae8c-1ee8-5e8e-bb5e-2f2e222eca98', 'at', '"2026-11-26T17:30:00.000Z"', '0199c82cc000-008c-8ed88f162593', '0199c82cc000-008c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (72, 'abbe13d1-b069-5d74-a1ce-9e1db6f3498b', 'practice', '7c47391e-ce86-5cd3-a0dd-a590cbfa3133', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-008e-8ed88f162593', '0199c82cc000-008e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (73, 'ece39a48-ee56-5a11-890d-671f310f7e92', 'practice', '7c47391e-ce86-5cd3-a0dd-a590cbfa3133', 'station', '"ears"', '0199c82cc000-0090-8ed88f162593', '0199c82cc000-0090-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (74, '2529bcd6-d601-5245-a1df-694b4acd1054', 'practice', '7c47391e-ce86-5cd3-a0dd-a590cbfa3133', 'grade', '"easy"', '0199c82cc000-0092-8ed88f162593', '0199c82cc000-0092-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (75, '21e6ae1a-4d78-5e27-a832-46b210291424', 'practice', '7c47391e-ce86-5cd3-a0dd-a590cbfa3133', 'at', '"2026-11-26T17:30:00.000Z"', '0199c82cc000-0094-8ed88f162593', '0199c82cc000-0094-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (76, '7ec857bc-45d3-55f8-bb23-eb559f2eb910', 'practice', '50144ec5-54b1-5786-b38e-beab85fb7fa1', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-0096-8ed88f162593', '0199c82cc000-0096-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (77, 'fd6d073a-8dbf-5866-9842-96b5bc25ef49', 'practice', '50144ec5-54b1-5786-b38e-beab85fb7fa1', 'station', '"bite"', '0199c82cc000-0098-8ed88f162593', '0199c82cc000-0098-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (78, '45269d0f-2f2d-538c-8cdb-2cae625366d3', 'practice', '50144ec5-54b1-5786-b38e-beab85fb7fa1', 'grade', '"needs work"', '0199c82cc000-009a-8ed88f162593', '0199c82cc000-009a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (79, 'da49fc7d-2d58-5648-9b6b-de0395f329bf', 'practice', '50144ec5-54b1-5786-b38e-beab85fb7fa1', 'at', '"2026-11-26T17:30:00.000Z"', '0199c82cc000-009c-8ed88f162593', '0199c82cc000-009c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (80, '6aa7887c-f8f9-537a-86b3-72308649f57e', 'practice', 'f4acc2a9-402d-534b-91c9-042c65ca0bed', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-009e-8ed88f162593', '0199c82cc000-009e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (81, '2251bc49-c442-5c08-87df-38eb982103df', 'practice', 'f4acc2a9-402d-534b-91c9-042c65ca0bed', 'station', '"knees"', '0199c82cc000-00a0-8ed88f162593', '0199c82cc000-00a0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (82, '32e347b5-6e17-53ca-be9f-c0aebf9f5949', 'practice', 'f4acc2a9-402d-534b-91c9-042c65ca0bed', 'grade', '"needs work"', '0199c82cc000-00a2-8ed88f162593', '0199c82cc000-00a2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (83, '9117766b-f2e6-5c04-b9f1-a657d38a62ed', 'practice', 'f4acc2a9-402d-534b-91c9-042c65ca0bed', 'at', '"2026-11-26T17:30:00.000Z"', '0199c82cc000-00a4-8ed88f162593', '0199c82cc000-00a4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (84, 'fcdb485f-e14f-523a-924a-6055726e05a0', 'practice', '184ce8aa-546b-5c99-9582-1b44fa88b01f', 'dog', '"33856e1a-eb0e-57e6-90e0-3f8a73338c50"', '0199c82cc000-00a6-8ed88f162593', '0199c82cc000-00a6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (85, 'a649c227-c764-55d4-bdca-8b7fadc533cd', 'practice', '184ce8aa-546b-5c99-9582-1b44fa88b01f', 'station', '"head"', '0199c82cc000-00a8-8ed88f162593', '0199c82cc000-00a8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (86, '58cff203-2a74-5c45-93aa-8a5e9e7686b5', 'practice', '184ce8aa-546b-5c99-9582-1b44fa88b01f', 'grade', '"easy"', '0199c82cc000-00aa-8ed88f162593', '0199c82cc000-00aa-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (87, '8bf10121-995d-5641-bb60-8e179b55fe38', 'practice', '184ce8aa-546b-5c99-9582-1b44fa88b01f', 'at', '"2026-11-27T17:30:00.000Z"', '0199c82cc000-00ac-8ed88f162593', '0199c82cc000-00ac-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (88, '458389cf-4b56-58fa-9c90-4262c07ba2c1', 'practice', 'c246529b-d1c8-537c-891b-e40baa4200e3', 'dog', '"33856e1a-eb0e-57e6-90e0-3f8a73338c50"', '0199c82cc000-00ae-8ed88f162593', '0199c82cc000-00ae-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (89, 'ebcefd3d-b88a-5548-ba05-a56486e909af', 'practice', 'c246529b-d1c8-537c-891b-e40baa4200e3', 'station', '"bite"', '0199c82cc000-00b0-8ed88f162593', '0199c82cc000-00b0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (90, '5b03bfc7-73c9-579f-af9e-b9142dcc2d4b', 'practice', 'c246529b-d1c8-537c-891b-e40baa4200e3', 'grade', '"needs work"', '0199c82cc000-00b2-8ed88f162593', '0199c82cc000-00b2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (91, '8cfca18c-d95e-5d99-9b91-57746d653cd6', 'practice', 'c246529b-d1c8-537c-891b-e40baa4200e3', 'at', '"2026-11-27T17:30:00.000Z"', '0199c82cc000-00b4-8ed88f162593', '0199c82cc000-00b4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (92, 'e748e6e7-3670-5799-b23d-b4059bd43a51', 'practice', '4e356808-00b5-5f40-9cb1-713d24585fff', 'dog', '"33856e1a-eb0e-57e6-90e0-3f8a73338c50"', '0199c82cc000-00b6-8ed88f162593', '0199c82cc000-00b6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (93, 'cdbabaab-bd6a-5562-88c0-6a706e687e35', 'practice', '4e356808-00b5-5f40-9cb1-713d24585fff', 'station', '"testes"', '0199c82cc000-00b8-8ed88f162593', '0199c82cc000-00b8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (94, '6b51cdbf-ac9c-59a7-8b69-5d79f5ef2bb2', 'practice', '4e356808-00b5-5f40-9cb1-713d24585fff', 'grade', '"not yet"', '0199c82cc000-00ba-8ed88f162593', '0199c82cc000-00ba-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (95, '89b069d4-49cd-580f-972b-655076dfedc1', 'practice', '4e356808-00b5-5f40-9cb1-713d24585fff', 'at', '"2026-11-27T17:30:00.000Z"', '0199c82cc000-00bc-8ed88f162593', '0199c82cc000-00bc-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (96, 'f574f305-8d6b-567e-9325-d0b961411570', 'practice', 'f18dffe9-598b-5758-89a9-713be910ee8f', 'dog', '"8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7"', '0199c82cc000-00be-8ed88f162593', '0199c82cc000-00be-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (97, '672a8df0-1241-570b-98be-c63a0d0c4563', 'practice', 'f18dffe9-598b-5758-89a9-713be910ee8f', 'station', '"free_stack"', '0199c82cc000-00c0-8ed88f162593', '0199c82cc000-00c0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (98, '75e71887-5487-5544-b561-759fcd1bda1d', 'practice', 'f18dffe9-598b-5758-89a9-713be910ee8f', 'grade', '"needs work"', '0199c82cc000-00c2-8ed88f162593', '0199c82cc000-00c2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (99, '5b5f2c6a-d9fd-5202-a959-7bfe7e43aa97', 'practice', 'f18dffe9-598b-5758-89a9-713be910ee8f', 'at', '"2026-11-25T17:30:00.000Z"', '0199c82cc000-00c4-8ed88f162593', '0199c82cc000-00c4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (100, '0e89d0b8-10e4-560c-ad16-24a3fc05ef31', 'show', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'name', '"Hollow Meadow Open Show"', '0199c82cc000-00c6-8ed88f162593', '0199c82cc000-00c6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (101, '0446d74f-5f82-5968-b803-d7357ea26721', 'show', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'body', '"KC"', '0199c82cc000-00c8-8ed88f162593', '0199c82cc000-00c8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (102, '72857959-aaee-5f34-92a9-a47596dd77c5', 'show', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'level', '"open"', '0199c82cc000-00ca-8ed88f162593', '0199c82cc000-00ca-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (103, '12288444-8aa3-5080-9d28-c5fb92ee24e9', 'show', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'day', '"2026-12-08"', '0199c82cc000-00cc-8ed88f162593', '0199c82cc000-00cc-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (104, '3ad99737-cda1-5eb0-b636-26278b95fc22', 'show', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'place', '"Hollow Meadow, the big barn"', '0199c82cc000-00ce-8ed88f162593', '0199c82cc000-00ce-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (105, '3a32925d-abc6-5d28-a842-a0e145d620e9', 'show', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'name', '"Old Quarry Kennel Club"', '0199c82cc000-00d0-8ed88f162593', '0199c82cc000-00d0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (106, '0ad38cba-bc64-531d-be21-691ca4a73f14', 'show', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'body', '"AKC"', '0199c82cc000-00d2-8ed88f162593', '0199c82cc000-00d2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (107, '1f478d60-43aa-504f-8cd4-d4ff343cbb60', 'show', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'level', '"championship"', '0199c82cc000-00d4-8ed88f162593', '0199c82cc000-00d4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (108, '975aab03-3ca5-5688-8cb1-478d3f6dcd56', 'show', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'day', '"2026-12-22"', '0199c82cc000-00d6-8ed88f162593', '0199c82cc000-00d6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (109, '72489cac-afd5-5de1-ba04-31872b2c143c', 'show', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'place', '"Quarry Field"', '0199c82cc000-00d8-8ed88f162593', '0199c82cc000-00d8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (110, 'a2db8118-7e1a-5b15-bd72-6d1d1bb6806f', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'dog', '"c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7"', '0199c82cc000-00da-8ed88f162593', '0199c82cc000-00da-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (111, '1ffe01b0-319a-593e-b8aa-79e94627e039', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'show', '"c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0"', '0199c82cc000-00dc-8ed88f162593', '0199c82cc000-00dc-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (112, 'f5074f40-ade7-58f1-8a5c-656d9c0a862d', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'klass', '"puppy"', '0199c82cc000-00de-8ed88f162593', '0199c82cc000-00de-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (113, 'e842812a-c344-56f9-9976-f5282b17fac3', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'judge', '"N. Tallow"', '0199c82cc000-00e0-8ed88f162593', '0199c82cc000-00e0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (114, '36625d22-9582-5ada-ac4f-7b390dde5dd8', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'ring', '"3"', '0199c82cc000-00e2-8ed88f162593', '0199c82cc000-00e2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (115, '9ff3d64e-95d7-523b-9f1d-a8849511c312', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'time', '"10:20"', '0199c82cc000-00e4-8ed88f162593', '0199c82cc000-00e4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (116, '9d852c74-4b61-5cc5-ada8-4a74b8f61310', 'entry', '79b3c781-bfce-581e-a2be-6da7c2af540f', 'armband', '"41"', '0199c82cc000-00e6-8ed88f162593', '0199c82cc000-00e6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (117, '480417b2-5efe-5d08-bf06-74c616da74c0', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-00e8-8ed88f162593', '0199c82cc000-00e8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (118, 'f0b24869-ca6e-5ae1-9858-13bfc3538d01', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'show', '"c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0"', '0199c82cc000-00ea-8ed88f162593', '0199c82cc000-00ea-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (119, '310dce46-64ee-53fd-b0e5-a3461d7e7275', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'klass', '"open"', '0199c82cc000-00ec-8ed88f162593', '0199c82cc000-00ec-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (120, '2f54636e-101f-5088-9673-2ebea0153f9b', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'judge', '"N. Tallow"', '0199c82cc000-00ee-8ed88f162593', '0199c82cc000-00ee-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (121, 'b93a64b0-87ea-510d-96c3-bca272df5609', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'ring', '"3"', '0199c82cc000-00f0-8ed88f162593', '0199c82cc000-00f0-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (122, '3c8da583-8374-53ac-a85e-6d6840d89a19', 'entry', 'ab5928a6-9367-53de-b1b3-08809a225320', 'time', '"11:05"', '0199c82cc000-00f2-8ed88f162593', '0199c82cc000-00f2-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (123, '3adee55f-2d75-58f8-9986-5db8e5280a70', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'dog', '"966aeb59-d8bd-50eb-95d8-1242d2e658f8"', '0199c82cc000-00f4-8ed88f162593', '0199c82cc000-00f4-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (124, '36410c5d-9774-595f-be6f-f06c5861fb96', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'show', '"16b8c5d5-82b3-5eca-8203-9274900cbef3"', '0199c82cc000-00f6-8ed88f162593', '0199c82cc000-00f6-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (125, '10cea88c-b78c-52ba-8068-73c8fb9befe7', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'klass', '"open"', '0199c82cc000-00f8-8ed88f162593', '0199c82cc000-00f8-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (126, 'deaab2f2-b288-520f-94e0-6a4455399697', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'ring', '"7"', '0199c82cc000-00fa-8ed88f162593', '0199c82cc000-00fa-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (127, 'dc95ead3-ca6c-5a66-910b-1f04de624836', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'time', '"9:45"', '0199c82cc000-00fc-8ed88f162593', '0199c82cc000-00fc-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (128, 'fb5a7408-7474-5fc2-bb39-3f59313c09ca', 'entry', '16baee5b-242e-54c5-b168-32c4c8ec28c7', 'armband', '"12"', '0199c82cc000-00fe-8ed88f162593', '0199c82cc000-00fe-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (129, '88eda3a9-1596-5547-a390-59cb7576f520', 'measure', 'ef15c28f-f863-500f-bb62-663b3e23986e', 'dog', '"966aeb59-d8bd-50eb-95d8-1242d2e658f8"', '0199c82cc000-0100-8ed88f162593', '0199c82cc000-0100-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (130, '31d3524c-a428-5500-b745-6a850e0238f7', 'measure', 'ef15c28f-f863-500f-bb62-663b3e23986e', 'what', '"weight"', '0199c82cc000-0102-8ed88f162593', '0199c82cc000-0102-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (131, '8a7ebc07-6ab3-5e00-9aec-182d2fd77c05', 'measure', 'ef15c28f-f863-500f-bb62-663b3e23986e', 'value', '13.7', '0199c82cc000-0104-8ed88f162593', '0199c82cc000-0104-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (132, '72b1f0b5-1b9b-5f8f-ab8b-141f0a9907c7', 'measure', 'ef15c28f-f863-500f-bb62-663b3e23986e', 'unit', '"kg"', '0199c82cc000-0106-8ed88f162593', '0199c82cc000-0106-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (133, 'b5737825-3140-5653-8123-4db00aa35191', 'measure', 'ef15c28f-f863-500f-bb62-663b3e23986e', 'day', '"2026-11-24"', '0199c82cc000-0108-8ed88f162593', '0199c82cc000-0108-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (134, '5f428cb3-6a8e-58dd-8e56-a762f8541447', 'measure', '0e9d1700-b623-5693-b03a-5376beb427f1', 'dog', '"20fb1366-34b9-5bb9-bf18-614375a0907f"', '0199c82cc000-010a-8ed88f162593', '0199c82cc000-010a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (135, '681006ea-7235-5ce5-ab29-b62aaf82e463', 'measure', '0e9d1700-b623-5693-b03a-5376beb427f1', 'what', '"weight"', '0199c82cc000-010c-8ed88f162593', '0199c82cc000-010c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (136, '2aecc46d-63c7-59ec-9610-a5e822ea38e7', 'measure', '0e9d1700-b623-5693-b03a-5376beb427f1', 'value', '5.8', '0199c82cc000-010e-8ed88f162593', '0199c82cc000-010e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (137, '07df2111-db82-55a4-98a0-b5d753c6e020', 'measure', '0e9d1700-b623-5693-b03a-5376beb427f1', 'unit', '"kg"', '0199c82cc000-0110-8ed88f162593', '0199c82cc000-0110-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (138, '44075962-0871-5f2a-b9d4-140cda70d30f', 'measure', '0e9d1700-b623-5693-b03a-5376beb427f1', 'day', '"2026-11-24"', '0199c82cc000-0112-8ed88f162593', '0199c82cc000-0112-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (139, '3036d0cc-cb51-5587-8434-400a59e1d31a', 'kit', 'c1732c00-dac8-5d0f-b466-2ccf5cc6e45a', 'dog', '"966aeb59-d8bd-50eb-95d8-1242d2e658f8"', '0199c82cc000-0114-8ed88f162593', '0199c82cc000-0114-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (140, '59b6694b-45c2-53ce-b1f2-8af4295c843b', 'kit', 'c1732c00-dac8-5d0f-b466-2ccf5cc6e45a', 'line', '"Cooling coat wet"', '0199c82cc000-0116-8ed88f162593', '0199c82cc000-0116-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (141, '7ef75efc-cbad-5900-9b6a-7518c4164066', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'dog', '"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"', '0199c82cc000-0118-8ed88f162593', '0199c82cc000-0118-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (142, '17b42feb-70ca-5b2b-b4f9-0000bbd151ba', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'body', '"AKC"', '0199c82cc000-011a-8ed88f162593', '0199c82cc000-011a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (143, '6544ee2b-fdbf-5e14-b1d0-941db79c8236', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'what', '"winners"', '0199c82cc000-011c-8ed88f162593', '0199c82cc000-011c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (144, 'a74c234f-c856-55a2-b70c-a9182feb3bab', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'judge', '"A. Fennel"', '0199c82cc000-011e-8ed88f162593', '0199c82cc000-011e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (145, '3a13463b-3485-5423-9099-24ebd14eca9b', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'points', '4', '0199c82cc000-0120-8ed88f162593', '0199c82cc000-0120-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (146, '2be5c6b8-0a4c-5889-aa8b-142dcce3baac', 'award', '6f7169da-f2aa-582d-ba4f-7ce9cea62fd0', 'day', '"2026-02-01"', '0199c82cc000-0122-8ed88f162593', '0199c82cc000-0122-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (147, '48c3c79d-7804-5a9d-af5e-5f49c022b901', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'dog', '"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"', '0199c82cc000-0124-8ed88f162593', '0199c82cc000-0124-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (148, 'c1889eff-e2ab-5438-95e3-f0db003f4f01', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'body', '"AKC"', '0199c82cc000-0126-8ed88f162593', '0199c82cc000-0126-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (149, '62db0465-c82d-5f9f-a642-adedafb484e5', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'what', '"winners"', '0199c82cc000-0128-8ed88f162593', '0199c82cc000-0128-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (150, '52b0bb09-115c-5956-9a6c-18811d05bf22', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'judge', '"B. Sorrel"', '0199c82cc000-012a-8ed88f162593', '0199c82cc000-012a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (151, '84328278-967a-55e3-a937-749c90bfb62d', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'points', '3', '0199c82cc000-012c-8ed88f162593', '0199c82cc000-012c-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (152, '875655a5-44fe-55fb-996f-01f15e2f846a', 'award', 'f8ae9fc8-d450-58bc-966f-a3800d38a9d6', 'day', '"2026-05-02"', '0199c82cc000-012e-8ed88f162593', '0199c82cc000-012e-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (153, '90fd8b76-ce37-54a5-a853-9e12f3609cdd', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'dog', '"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"', '0199c82cc000-0130-8ed88f162593', '0199c82cc000-0130-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (154, '925e5e8f-8cbe-5b4f-81c4-0b5d505227fb', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'body', '"AKC"', '0199c82cc000-0132-8ed88f162593', '0199c82cc000-0132-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (155, 'ec7b0e6a-731b-5d3f-83d8-f4907f8c0955', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'what', '"winners"', '0199c82cc000-0134-8ed88f162593', '0199c82cc000-0134-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (156, 'c6dc59ac-a07f-5212-9435-47cc66751071', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'judge', '"C. Yarrow"', '0199c82cc000-0136-8ed88f162593', '0199c82cc000-0136-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (157, '573b46ff-df31-5b86-99e4-467a6ebb982e', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'points', '2', '0199c82cc000-0138-8ed88f162593', '0199c82cc000-0138-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (158, '7594d412-7dec-535b-a25f-2f16fb354528', 'award', 'dcb59f99-f714-57f3-a7ae-4dbfffc24aaf', 'day', '"2026-08-30"', '0199c82cc000-013a-8ed88f162593', '0199c82cc000-013a-8ed88f162593', '', '35811c6b-ad17-5ffd-bd07-8ed88f162593', 1764300000100);
INSERT INTO public.change VALUES (159, 'c24f6aa8-3bf3-4a14-bc2f-7ad016edc5d4', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'name', '"Zwölf ✓"', '019ac8798b00-0000-4fe53a096533', '019ac8798b00-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (160, '852a5fba-444a-4f42-b37f-5722051e2670', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'breed', '"whippet"', '019ac8798b01-0000-4fe53a096533', '019ac8798b01-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (161, 'e941aa79-e6ed-4f80-b96d-3bc4685ca8af', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'sex', '"bitch"', '019ac8798b02-0000-4fe53a096533', '019ac8798b02-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (162, 'a9b7e3ea-1d1d-484f-b9db-434b610b1631', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'born', '"2024-02-29"', '019ac8798b03-0000-4fe53a096533', '019ac8798b03-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (163, 'd0718c1a-fdd9-478d-98df-f3934223aa56', 'note', '6694f229-359b-4548-81a0-d5b3ffc6e35c', 'dog', '"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"', '019ac8798b04-0000-4fe53a096533', '019ac8798b04-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (164, 'd45c39a3-9ec3-43c1-a2e9-17d310269470', 'note', '6694f229-359b-4548-81a0-d5b3ffc6e35c', 'station', '"bite"', '019ac8798b05-0000-4fe53a096533', '019ac8798b05-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (165, '0edca4ec-a92d-44a3-9b94-1f4360908405', 'note', '6694f229-359b-4548-81a0-d5b3ffc6e35c', 'text', '"First line\nsecond, \"quoted\"; ''so''"', '019ac8798b06-0000-4fe53a096533', '019ac8798b06-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000101);
INSERT INTO public.change VALUES (166, '1607b1c4-b0f9-4306-bc02-e56756a3e957', 'note', '6694f229-359b-4548-81a0-d5b3ffc6e35c', 'text', '"Written on one phone"', '019ac8798b0a-0000-4fe53a096533', '019ac8798b0a-0000-4fe53a096533', '019ac8798b06-0000-4fe53a096533', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000102);
INSERT INTO public.change VALUES (167, '844dbc0c-a654-43a9-a744-b24e7f61701e', 'note', '6694f229-359b-4548-81a0-d5b3ffc6e35c', 'text', '"Written apart on the other 🐕"', '019ac8798b0b-0000-17a6205738d1', '019ac8798b0b-0000-17a6205738d1', '019ac8798b06-0000-4fe53a096533', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000103);
INSERT INTO public.change VALUES (168, 'cef2d301-94df-443c-b53a-0106e6c08269', 'note', '7cc661e9-7589-4a4a-87c1-5471a4517d6c', 'dog', '"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"', '019ac8798b0c-0000-17a6205738d1', '019ac8798b0c-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000104);
INSERT INTO public.change VALUES (169, '8a2ad16e-107a-4806-9b51-c6322463278e', 'note', '7cc661e9-7589-4a4a-87c1-5471a4517d6c', 'station', '"ears"', '019ac8798b0d-0000-17a6205738d1', '019ac8798b0d-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000104);
INSERT INTO public.change VALUES (170, 'b3aa75ab-7d19-44ff-8997-4b85f2306d4a', 'note', '7cc661e9-7589-4a4a-87c1-5471a4517d6c', 'text', '"gone later"', '019ac8798b0e-0000-17a6205738d1', '019ac8798b0e-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000104);
INSERT INTO public.change VALUES (171, 'dc3d716b-f22f-45fd-a5f0-f21231a06a7c', 'note', '7cc661e9-7589-4a4a-87c1-5471a4517d6c', 'deleted', 'true', '019ac8798b0f-0000-17a6205738d1', '019ac8798b0f-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000104);
INSERT INTO public.change VALUES (172, '95990881-ba9b-485a-b4cd-a9c49436d6f6', 'order', '92b850ad-7eb7-4f82-a3f6-5da874007cb4', 'dog', '"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"', '019ac8798b10-0000-17a6205738d1', '019ac8798b10-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000105);
INSERT INTO public.change VALUES (173, '8eac871f-4920-41f2-b1f4-7e49e18692e2', 'order', '92b850ad-7eb7-4f82-a3f6-5da874007cb4', 'label', '"Starts at the bite"', '019ac8798b11-0000-17a6205738d1', '019ac8798b11-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000105);
INSERT INTO public.change VALUES (174, '6d16328f-e0c9-4f3e-9ae3-df9c5b507a36', 'order', '92b850ad-7eb7-4f82-a3f6-5da874007cb4', 'stations', '["bite","head","eyes"]', '019ac8798b12-0000-17a6205738d1', '019ac8798b12-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000105);
INSERT INTO public.change VALUES (175, '99ef936a-c3a8-4b56-a886-5529228dc519', 'measure', '67164890-d49d-4ac1-a5b8-063831360a40', 'dog', '"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"', '019ac8798b13-0000-4fe53a096533', '019ac8798b13-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000106);
INSERT INTO public.change VALUES (176, '50545214-b0af-481e-8824-918818fd64f7', 'measure', '67164890-d49d-4ac1-a5b8-063831360a40', 'what', '"weight"', '019ac8798b14-0000-4fe53a096533', '019ac8798b14-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000106);
INSERT INTO public.change VALUES (177, 'a4d70dfc-f333-4eb0-9b66-59eab3bfcd5d', 'measure', '67164890-d49d-4ac1-a5b8-063831360a40', 'value', '12.5', '019ac8798b15-0000-4fe53a096533', '019ac8798b15-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000106);
INSERT INTO public.change VALUES (178, '9fbd8735-80ed-4503-bea0-3260d7ef27bb', 'measure', '67164890-d49d-4ac1-a5b8-063831360a40', 'unit', '"kg"', '019ac8798b16-0000-4fe53a096533', '019ac8798b16-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000106);
INSERT INTO public.change VALUES (179, '5b11b76f-2670-4098-8f0c-f267329911da', 'measure', '67164890-d49d-4ac1-a5b8-063831360a40', 'day', '"2026-11-01"', '019ac8798b17-0000-4fe53a096533', '019ac8798b17-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000106);
INSERT INTO public.change VALUES (180, 'a834d580-8281-46bf-88cb-74a9875a34f2', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'pedigree', '"Far Ahead"', '019ac8798b6b-0001-17a6205738d1', '019acdd6d580-0000-17a6205738d1', '', '0b3510b0-b46e-41da-b170-17a6205738d1', 1764300000107);
INSERT INTO public.change VALUES (181, '8b80eb31-b388-4de0-a9be-9f8881e6187f', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'neutered', 'null', '019ac8798b1d-0000-4fe53a096533', '019ac8798b1d-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000108);
INSERT INTO public.change VALUES (182, 'db522231-e739-4785-8ee1-16191248a2a4', 'dog', 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'neutered', 'true', '019ac8798b1e-0000-4fe53a096533', '019ac8798b1e-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000108);
INSERT INTO public.change VALUES (183, '38443e4f-57de-414c-8bb3-6ec8030cf05d', 'entry', 'e86c68cd-3e6f-44d4-981d-a689384ef90a', 'dog', '"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"', '019ac8798b1f-0000-4fe53a096533', '019ac8798b1f-0000-4fe53a096533', '', '6018366c-f658-47a7-9ed3-4fe53a096533', 1764300000108);
INSERT INTO public.change VALUES (184, '01a221bd-e0fe-7b9c-93e8-0bb4c2708928', 'show', '01a221bd-e0f9-76ee-a834-f09fb348f3fd', 'name', '"At the desk"', '019ac8798e84-0000-6dede2738880', '019ac8798e84-0000-6dede2738880', '', '01a221bd-e0fc-758e-b4b6-6dede2738880', 1764300000900);
INSERT INTO public.change VALUES (185, '01a221bd-e0ff-753b-86ae-0afdbfd8a490', 'show', '01a221bd-e0f9-76ee-a834-f09fb348f3fd', 'body', '"FCI"', '019ac8798e84-0002-6dede2738880', '019ac8798e84-0002-6dede2738880', '', '01a221bd-e0fc-758e-b4b6-6dede2738880', 1764300000900);
INSERT INTO public.change VALUES (186, '01a221bd-e100-7be4-af58-37d15b9e637d', 'show', '01a221bd-e0f9-76ee-a834-f09fb348f3fd', 'day', '"2026-12-05"', '019ac8798e84-0004-6dede2738880', '019ac8798e84-0004-6dede2738880', '', '01a221bd-e0fc-758e-b4b6-6dede2738880', 1764300000900);


--
-- Data for Name: code; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.code VALUES ('00a70f249209658457db2a0c147c61b8d985b8eca38971a7a7c2b2a1b688f08c', 'b018064f3c94495f64b53e422e3456014043428bb59023b8f3eea7a3d578675a', 'owner', 1764300000000, 1764300000001, 0);
INSERT INTO public.code VALUES ('f1892c17126d7c44ac5041354da729119b6835334c97cda3e7d602af1fddbdb6', '9ff692f2dda863fff56e41fce6f08980101df9031c86a356f8ac01d20e0f767d', 'helper', 1764300000000, 1764300000001, 0);


--
-- Data for Name: contested; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.contested VALUES (1, 'c24f6aa8-3bf3-4a14-bc2f-7ad016edc5d4', '{"base":"","device":"6018366c-f658-47a7-9ed3-4fe53a096533","field":"name","id":"c24f6aa8-3bf3-4a14-bc2f-7ad016edc5d4","kind":"dog","record":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1","stamp":"019ac8798b00-0000-4fe53a096533","value":"Other content"}', 1764300000500);


--
-- Data for Name: cue; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.cue VALUES ('a8d998a8-b4ba-56e5-84fc-87aa45394c6d', '{"dog":{"stamp":"0199c82cc000-006c-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"line":{"stamp":"0199c82cc000-0070-8ed88f162593","value":"Let her sniff, then still"},"station":{"stamp":"0199c82cc000-006e-8ed88f162593","value":"head"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', 'head', 'Let her sniff, then still');
INSERT INTO public.cue VALUES ('2b52bc6d-4c76-5bdc-9d9f-e7ef179abb71', '{"dog":{"stamp":"0199c82cc000-0072-8ed88f162593","value":"966aeb59-d8bd-50eb-95d8-1242d2e658f8"},"line":{"stamp":"0199c82cc000-0076-8ed88f162593","value":"Quick flip, then a breath"},"station":{"stamp":"0199c82cc000-0074-8ed88f162593","value":"bite"}}', NULL, '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'bite', 'Quick flip, then a breath');


--
-- Data for Name: device; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.device VALUES ('6018366c-f658-47a7-9ed3-4fe53a096533', 'Phone of owner', 'owner', 'ed0b8cba1c4cad4d0eb81dcf489273dfdc0e5b971275fbfb28ed531ff30f4040', 1764300000001, 1764300000001, NULL);
INSERT INTO public.device VALUES ('0b3510b0-b46e-41da-b170-17a6205738d1', 'Phone of helper', 'helper', '10db51f9ed5ccc5575356a3043ad12dad1aaffa1e8e8f44f05788e42f7142eeb', 1764300000001, 1764300000001, NULL);


--
-- Data for Name: dog; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.dog VALUES ('20fb1366-34b9-5bb9-bf18-614375a0907f', '{"body":{"stamp":"0199c82cc000-000a-8ed88f162593","value":"KC"},"born":{"stamp":"0199c82cc000-0008-8ed88f162593","value":"2024-08-28"},"breed":{"stamp":"0199c82cc000-0004-8ed88f162593","value":"border-terrier"},"name":{"stamp":"0199c82cc000-0000-8ed88f162593","value":"Bramble"},"pedigree":{"stamp":"0199c82cc000-0002-8ed88f162593","value":"Marrowby Bramble Path"},"sex":{"stamp":"0199c82cc000-0006-8ed88f162593","value":"bitch"}}', NULL, 'Bramble', 'Marrowby Bramble Path', 'border-terrier', 'bitch', '2024-08-28', NULL, 'KC', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('966aeb59-d8bd-50eb-95d8-1242d2e658f8', '{"body":{"stamp":"0199c82cc000-0016-8ed88f162593","value":"FCI"},"born":{"stamp":"0199c82cc000-0014-8ed88f162593","value":"2025-04-29"},"breed":{"stamp":"0199c82cc000-0010-8ed88f162593","value":"french-bulldog"},"name":{"stamp":"0199c82cc000-000c-8ed88f162593","value":"Gustav"},"pedigree":{"stamp":"0199c82cc000-000e-8ed88f162593","value":"Marrowby Pocket Thunder"},"sex":{"stamp":"0199c82cc000-0012-8ed88f162593","value":"dog"}}', NULL, 'Gustav', 'Marrowby Pocket Thunder', 'french-bulldog', 'dog', '2025-04-29', NULL, 'FCI', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('b473653f-ac5b-5c5e-8da9-d01c5bad02f5', '{"body":{"stamp":"0199c82cc000-0022-8ed88f162593","value":"AKC"},"born":{"stamp":"0199c82cc000-0020-8ed88f162593","value":"2023-03-30"},"breed":{"stamp":"0199c82cc000-001c-8ed88f162593","value":"samoyed"},"name":{"stamp":"0199c82cc000-0018-8ed88f162593","value":"Drift"},"pedigree":{"stamp":"0199c82cc000-001a-8ed88f162593","value":"Marrowby Slow Snowfall"},"sex":{"stamp":"0199c82cc000-001e-8ed88f162593","value":"dog"}}', NULL, 'Drift', 'Marrowby Slow Snowfall', 'samoyed', 'dog', '2023-03-30', NULL, 'AKC', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', '{"body":{"stamp":"0199c82cc000-002e-8ed88f162593","value":"FCI"},"born":{"stamp":"0199c82cc000-002c-8ed88f162593","value":"2026-03-29"},"breed":{"stamp":"0199c82cc000-0028-8ed88f162593","value":"labrador-retriever"},"name":{"stamp":"0199c82cc000-0024-8ed88f162593","value":"Puddle"},"pedigree":{"stamp":"0199c82cc000-0026-8ed88f162593","value":"Marrowby Rain Gauge"},"sex":{"stamp":"0199c82cc000-002a-8ed88f162593","value":"bitch"}}', NULL, 'Puddle', 'Marrowby Rain Gauge', 'labrador-retriever', 'bitch', '2026-03-29', NULL, 'FCI', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('33856e1a-eb0e-57e6-90e0-3f8a73338c50', '{"body":{"stamp":"0199c82cc000-003a-8ed88f162593","value":"FCI"},"born":{"stamp":"0199c82cc000-0038-8ed88f162593","value":"2025-10-28"},"breed":{"stamp":"0199c82cc000-0034-8ed88f162593","value":"cardigan-welsh-corgi"},"name":{"stamp":"0199c82cc000-0030-8ed88f162593","value":"Teasel"},"pedigree":{"stamp":"0199c82cc000-0032-8ed88f162593","value":"Marrowby Low Hedge"},"sex":{"stamp":"0199c82cc000-0036-8ed88f162593","value":"dog"}}', NULL, 'Teasel', 'Marrowby Low Hedge', 'cardigan-welsh-corgi', 'dog', '2025-10-28', NULL, 'FCI', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', '{"body":{"stamp":"0199c82cc000-0046-8ed88f162593","value":"KC"},"born":{"stamp":"0199c82cc000-0044-8ed88f162593","value":"2026-06-09"},"breed":{"stamp":"0199c82cc000-0040-8ed88f162593","value":"border-terrier"},"name":{"stamp":"0199c82cc000-003c-8ed88f162593","value":"Wick"},"pedigree":{"stamp":"0199c82cc000-003e-8ed88f162593","value":"Marrowby Candle End"},"sex":{"stamp":"0199c82cc000-0042-8ed88f162593","value":"dog"}}', NULL, 'Wick', 'Marrowby Candle End', 'border-terrier', 'dog', '2026-06-09', NULL, 'KC', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO public.dog VALUES ('cfaf0010-3f58-4ad4-a308-24d215ceb3a1', '{"born":{"stamp":"019ac8798b03-0000-4fe53a096533","value":"2024-02-29"},"breed":{"stamp":"019ac8798b01-0000-4fe53a096533","value":"whippet"},"name":{"stamp":"019ac8798b00-0000-4fe53a096533","value":"Zwölf ✓"},"neutered":{"stamp":"019ac8798b1e-0000-4fe53a096533","value":true},"pedigree":{"stamp":"019ac8798b6b-0001-17a6205738d1","value":"Far Ahead"},"sex":{"stamp":"019ac8798b02-0000-4fe53a096533","value":"bitch"}}', NULL, 'Zwölf ✓', 'Far Ahead', 'whippet', 'bitch', '2024-02-29', NULL, NULL, NULL, true, NULL, NULL, NULL, NULL, NULL);


--
-- Data for Name: entry; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.entry VALUES ('79b3c781-bfce-581e-a2be-6da7c2af540f', '{"armband":{"stamp":"0199c82cc000-00e6-8ed88f162593","value":"41"},"dog":{"stamp":"0199c82cc000-00da-8ed88f162593","value":"c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7"},"judge":{"stamp":"0199c82cc000-00e0-8ed88f162593","value":"N. Tallow"},"klass":{"stamp":"0199c82cc000-00de-8ed88f162593","value":"puppy"},"ring":{"stamp":"0199c82cc000-00e2-8ed88f162593","value":"3"},"show":{"stamp":"0199c82cc000-00dc-8ed88f162593","value":"c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0"},"time":{"stamp":"0199c82cc000-00e4-8ed88f162593","value":"10:20"}}', NULL, 'c5955a2f-99f2-5b8c-bd97-9b43baa4ffd7', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'puppy', NULL, 'N. Tallow', '3', '10:20', '41');
INSERT INTO public.entry VALUES ('ab5928a6-9367-53de-b1b3-08809a225320', '{"dog":{"stamp":"0199c82cc000-00e8-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"judge":{"stamp":"0199c82cc000-00ee-8ed88f162593","value":"N. Tallow"},"klass":{"stamp":"0199c82cc000-00ec-8ed88f162593","value":"open"},"ring":{"stamp":"0199c82cc000-00f0-8ed88f162593","value":"3"},"show":{"stamp":"0199c82cc000-00ea-8ed88f162593","value":"c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0"},"time":{"stamp":"0199c82cc000-00f2-8ed88f162593","value":"11:05"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', 'c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', 'open', NULL, 'N. Tallow', '3', '11:05', NULL);
INSERT INTO public.entry VALUES ('16baee5b-242e-54c5-b168-32c4c8ec28c7', '{"armband":{"stamp":"0199c82cc000-00fe-8ed88f162593","value":"12"},"dog":{"stamp":"0199c82cc000-00f4-8ed88f162593","value":"966aeb59-d8bd-50eb-95d8-1242d2e658f8"},"klass":{"stamp":"0199c82cc000-00f8-8ed88f162593","value":"open"},"ring":{"stamp":"0199c82cc000-00fa-8ed88f162593","value":"7"},"show":{"stamp":"0199c82cc000-00f6-8ed88f162593","value":"16b8c5d5-82b3-5eca-8203-9274900cbef3"},"time":{"stamp":"0199c82cc000-00fc-8ed88f162593","value":"9:45"}}', NULL, '966aeb59-d8bd-50eb-95d8-1242d2e658f8', '16b8c5d5-82b3-5eca-8203-9274900cbef3', 'open', NULL, NULL, '7', '9:45', '12');
INSERT INTO public.entry VALUES ('e86c68cd-3e6f-44d4-981d-a689384ef90a', '{"dog":{"stamp":"019ac8798b1f-0000-4fe53a096533","value":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"}}', NULL, 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', NULL, NULL, NULL, NULL, NULL, NULL, NULL);


--
-- Data for Name: gate; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: kit; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.kit VALUES ('c1732c00-dac8-5d0f-b466-2ccf5cc6e45a', '{"dog":{"stamp":"0199c82cc000-0114-8ed88f162593","value":"966aeb59-d8bd-50eb-95d8-1242d2e658f8"},"line":{"stamp":"0199c82cc000-0116-8ed88f162593","value":"Cooling coat wet"}}', NULL, '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'Cooling coat wet');


--
-- Data for Name: measure; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.measure VALUES ('ef15c28f-f863-500f-bb62-663b3e23986e', '{"day":{"stamp":"0199c82cc000-0108-8ed88f162593","value":"2026-11-24"},"dog":{"stamp":"0199c82cc000-0100-8ed88f162593","value":"966aeb59-d8bd-50eb-95d8-1242d2e658f8"},"unit":{"stamp":"0199c82cc000-0106-8ed88f162593","value":"kg"},"value":{"stamp":"0199c82cc000-0104-8ed88f162593","value":13.7},"what":{"stamp":"0199c82cc000-0102-8ed88f162593","value":"weight"}}', NULL, '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'weight', 13.7, 'kg', '2026-11-24');
INSERT INTO public.measure VALUES ('0e9d1700-b623-5693-b03a-5376beb427f1', '{"day":{"stamp":"0199c82cc000-0112-8ed88f162593","value":"2026-11-24"},"dog":{"stamp":"0199c82cc000-010a-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"unit":{"stamp":"0199c82cc000-0110-8ed88f162593","value":"kg"},"value":{"stamp":"0199c82cc000-010e-8ed88f162593","value":5.8},"what":{"stamp":"0199c82cc000-010c-8ed88f162593","value":"weight"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', 'weight', 5.8, 'kg', '2026-11-24');
INSERT INTO public.measure VALUES ('67164890-d49d-4ac1-a5b8-063831360a40', '{"day":{"stamp":"019ac8798b17-0000-4fe53a096533","value":"2026-11-01"},"dog":{"stamp":"019ac8798b13-0000-4fe53a096533","value":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"},"unit":{"stamp":"019ac8798b16-0000-4fe53a096533","value":"kg"},"value":{"stamp":"019ac8798b15-0000-4fe53a096533","value":12.5},"what":{"stamp":"019ac8798b14-0000-4fe53a096533","value":"weight"}}', NULL, 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'weight', 12.5, 'kg', '2026-11-01');


--
-- Data for Name: meta; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.meta VALUES ('format', '1');
INSERT INTO public.meta VALUES ('secret', '35ec123378717ffa729f91a2350797f7b603a6a26025b07664c2e71fa97d1946');
INSERT INTO public.meta VALUES ('id', 'b67c78fc-6500-5963-9e11-81ff9fa5ab32');
INSERT INTO public.meta VALUES ('dogs', '183');
INSERT INTO public.meta VALUES ('desk', '01a221bd-e0fc-758e-b4b6-6dede2738880');


--
-- Data for Name: note; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.note VALUES ('6e90806f-fc24-58e1-8736-9cb2307e3419', '{"dog":{"stamp":"0199c82cc000-0048-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"station":{"stamp":"0199c82cc000-004a-8ed88f162593","value":"bite"},"text":{"heads":{"0199c82cc000-004c-8ed88f162593":"Lower left corner incisor sits a hair inside. Show the right side first, and do not linger."},"seen":{"8ed88f162593":"0199c82cc000-004c-8ed88f162593"}}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', 'bite', 'Lower left corner incisor sits a hair inside. Show the right side first, and do not linger.');
INSERT INTO public.note VALUES ('b5b967c2-dbb8-5c77-a2df-59cef8ca2bd1', '{"dog":{"stamp":"0199c82cc000-004e-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"station":{"stamp":"0199c82cc000-0050-8ed88f162593","value":"topline"},"text":{"heads":{"0199c82cc000-0052-8ed88f162593":"Roaches a little when she is cold. Walk her out once before we go in."},"seen":{"8ed88f162593":"0199c82cc000-0052-8ed88f162593"}}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', 'topline', 'Roaches a little when she is cold. Walk her out once before we go in.');
INSERT INTO public.note VALUES ('ee94148d-1239-5196-adb6-ce72f625b7ee', '{"dog":{"stamp":"0199c82cc000-0054-8ed88f162593","value":"966aeb59-d8bd-50eb-95d8-1242d2e658f8"},"station":{"stamp":"0199c82cc000-0056-8ed88f162593","value":"down_and_back"},"text":{"heads":{"0199c82cc000-0058-8ed88f162593":"Pants after one lap. Slow walk to the ring, cool coat on until the class is called."},"seen":{"8ed88f162593":"0199c82cc000-0058-8ed88f162593"}}}', NULL, '966aeb59-d8bd-50eb-95d8-1242d2e658f8', 'down_and_back', 'Pants after one lap. Slow walk to the ring, cool coat on until the class is called.');
INSERT INTO public.note VALUES ('e8e49fd7-1244-5d84-8ee2-3182a2355e74', '{"dog":{"stamp":"0199c82cc000-005a-8ed88f162593","value":"b473653f-ac5b-5c5e-8da9-d01c5bad02f5"},"station":{"stamp":"0199c82cc000-005c-8ed88f162593","value":"neck"},"text":{"heads":{"0199c82cc000-005e-8ed88f162593":"Ruff bunches under the collar: lead high, comb through after the judge''s hands."},"seen":{"8ed88f162593":"0199c82cc000-005e-8ed88f162593"}}}', NULL, 'b473653f-ac5b-5c5e-8da9-d01c5bad02f5', 'neck', 'Ruff bunches under the collar: lead high, comb through after the judge''s hands.');
INSERT INTO public.note VALUES ('c42d8690-f039-52a1-8be7-150b8a2412a3', '{"dog":{"stamp":"0199c82cc000-0060-8ed88f162593","value":"8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7"},"station":{"stamp":"0199c82cc000-0062-8ed88f162593","value":"free_stack"},"text":{"heads":{"0199c82cc000-0064-8ed88f162593":"Bait held low, or she steps forward and stands under herself."},"seen":{"8ed88f162593":"0199c82cc000-0064-8ed88f162593"}}}', NULL, '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', 'free_stack', 'Bait held low, or she steps forward and stands under herself.');
INSERT INTO public.note VALUES ('00e299b1-9de8-5c0a-a577-4a68dc66ea38', '{"dog":{"stamp":"0199c82cc000-0066-8ed88f162593","value":"33856e1a-eb0e-57e6-90e0-3f8a73338c50"},"station":{"stamp":"0199c82cc000-0068-8ed88f162593","value":"testes"},"text":{"heads":{"0199c82cc000-006a-8ed88f162593":"Sits when a stranger reaches behind. Helper practises every evening."},"seen":{"8ed88f162593":"0199c82cc000-006a-8ed88f162593"}}}', NULL, '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'testes', 'Sits when a stranger reaches behind. Helper practises every evening.');
INSERT INTO public.note VALUES ('6694f229-359b-4548-81a0-d5b3ffc6e35c', '{"dog":{"stamp":"019ac8798b04-0000-4fe53a096533","value":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"},"station":{"stamp":"019ac8798b05-0000-4fe53a096533","value":"bite"},"text":{"heads":{"019ac8798b0a-0000-4fe53a096533":"Written on one phone","019ac8798b0b-0000-17a6205738d1":"Written apart on the other 🐕"},"seen":{"17a6205738d1":"019ac8798b0b-0000-17a6205738d1","4fe53a096533":"019ac8798b0a-0000-4fe53a096533"}}}', NULL, 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'bite', 'Written apart on the other 🐕');
INSERT INTO public.note VALUES ('7cc661e9-7589-4a4a-87c1-5471a4517d6c', '{"deleted":{"stamp":"019ac8798b0f-0000-17a6205738d1","value":true},"dog":{"stamp":"019ac8798b0c-0000-17a6205738d1","value":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"},"station":{"stamp":"019ac8798b0d-0000-17a6205738d1","value":"ears"},"text":{"heads":{"019ac8798b0e-0000-17a6205738d1":"gone later"},"seen":{"17a6205738d1":"019ac8798b0e-0000-17a6205738d1"}}}', true, 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'ears', 'gone later');


--
-- Data for Name: own_order; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.own_order VALUES ('b085e742-75e3-5143-99fb-062c69f0a81a', '{"dog":{"stamp":"0199c82cc000-0078-8ed88f162593","value":"33856e1a-eb0e-57e6-90e0-3f8a73338c50"},"label":{"stamp":"0199c82cc000-007a-8ed88f162593","value":"Judge who starts at the bite"},"stations":{"stamp":"0199c82cc000-007c-8ed88f162593","value":["bite","head","eyes","ears","neck","shoulders","topline","knees","testes"]}}', NULL, '33856e1a-eb0e-57e6-90e0-3f8a73338c50', 'Judge who starts at the bite', 'bite
head
eyes
ears
neck
shoulders
topline
knees
testes');
INSERT INTO public.own_order VALUES ('92b850ad-7eb7-4f82-a3f6-5da874007cb4', '{"dog":{"stamp":"019ac8798b10-0000-17a6205738d1","value":"cfaf0010-3f58-4ad4-a308-24d215ceb3a1"},"label":{"stamp":"019ac8798b11-0000-17a6205738d1","value":"Starts at the bite"},"stations":{"stamp":"019ac8798b12-0000-17a6205738d1","value":["bite","head","eyes"]}}', NULL, 'cfaf0010-3f58-4ad4-a308-24d215ceb3a1', 'Starts at the bite', 'bite
head
eyes');


--
-- Data for Name: practice; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.practice VALUES ('19ce7767-328d-5b1b-8667-a8afbf660765', '{"at":{"stamp":"0199c82cc000-0084-8ed88f162593","value":"2026-11-26T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-007e-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"grade":{"stamp":"0199c82cc000-0082-8ed88f162593","value":"easy"},"station":{"stamp":"0199c82cc000-0080-8ed88f162593","value":"head"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', NULL, 'head', 'easy', NULL, '2026-11-26T17:30:00.000Z');
INSERT INTO public.practice VALUES ('46baae8c-1ee8-5e8e-bb5e-2f2e222eca98', '{"at":{"stamp":"0199c82cc000-008c-8ed88f162593","value":"2026-11-26T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-0086-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"grade":{"stamp":"0199c82cc000-008a-8ed88f162593","value":"easy"},"station":{"stamp":"0199c82cc000-0088-8ed88f162593","value":"eyes"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', NULL, 'eyes', 'easy', NULL, '2026-11-26T17:30:00.000Z');
INSERT INTO public.practice VALUES ('7c47391e-ce86-5cd3-a0dd-a590cbfa3133', '{"at":{"stamp":"0199c82cc000-0094-8ed88f162593","value":"2026-11-26T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-008e-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"grade":{"stamp":"0199c82cc000-0092-8ed88f162593","value":"easy"},"station":{"stamp":"0199c82cc000-0090-8ed88f162593","value":"ears"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', NULL, 'ears', 'easy', NULL, '2026-11-26T17:30:00.000Z');
INSERT INTO public.practice VALUES ('50144ec5-54b1-5786-b38e-beab85fb7fa1', '{"at":{"stamp":"0199c82cc000-009c-8ed88f162593","value":"2026-11-26T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-0096-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"grade":{"stamp":"0199c82cc000-009a-8ed88f162593","value":"needs work"},"station":{"stamp":"0199c82cc000-0098-8ed88f162593","value":"bite"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', NULL, 'bite', 'needs work', NULL, '2026-11-26T17:30:00.000Z');
INSERT INTO public.practice VALUES ('f4acc2a9-402d-534b-91c9-042c65ca0bed', '{"at":{"stamp":"0199c82cc000-00a4-8ed88f162593","value":"2026-11-26T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-009e-8ed88f162593","value":"20fb1366-34b9-5bb9-bf18-614375a0907f"},"grade":{"stamp":"0199c82cc000-00a2-8ed88f162593","value":"needs work"},"station":{"stamp":"0199c82cc000-00a0-8ed88f162593","value":"knees"}}', NULL, '20fb1366-34b9-5bb9-bf18-614375a0907f', NULL, 'knees', 'needs work', NULL, '2026-11-26T17:30:00.000Z');
INSERT INTO public.practice VALUES ('184ce8aa-546b-5c99-9582-1b44fa88b01f', '{"at":{"stamp":"0199c82cc000-00ac-8ed88f162593","value":"2026-11-27T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-00a6-8ed88f162593","value":"33856e1a-eb0e-57e6-90e0-3f8a73338c50"},"grade":{"stamp":"0199c82cc000-00aa-8ed88f162593","value":"easy"},"station":{"stamp":"0199c82cc000-00a8-8ed88f162593","value":"head"}}', NULL, '33856e1a-eb0e-57e6-90e0-3f8a73338c50', NULL, 'head', 'easy', NULL, '2026-11-27T17:30:00.000Z');
INSERT INTO public.practice VALUES ('c246529b-d1c8-537c-891b-e40baa4200e3', '{"at":{"stamp":"0199c82cc000-00b4-8ed88f162593","value":"2026-11-27T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-00ae-8ed88f162593","value":"33856e1a-eb0e-57e6-90e0-3f8a73338c50"},"grade":{"stamp":"0199c82cc000-00b2-8ed88f162593","value":"needs work"},"station":{"stamp":"0199c82cc000-00b0-8ed88f162593","value":"bite"}}', NULL, '33856e1a-eb0e-57e6-90e0-3f8a73338c50', NULL, 'bite', 'needs work', NULL, '2026-11-27T17:30:00.000Z');
INSERT INTO public.practice VALUES ('4e356808-00b5-5f40-9cb1-713d24585fff', '{"at":{"stamp":"0199c82cc000-00bc-8ed88f162593","value":"2026-11-27T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-00b6-8ed88f162593","value":"33856e1a-eb0e-57e6-90e0-3f8a73338c50"},"grade":{"stamp":"0199c82cc000-00ba-8ed88f162593","value":"not yet"},"station":{"stamp":"0199c82cc000-00b8-8ed88f162593","value":"testes"}}', NULL, '33856e1a-eb0e-57e6-90e0-3f8a73338c50', NULL, 'testes', 'not yet', NULL, '2026-11-27T17:30:00.000Z');
INSERT INTO public.practice VALUES ('f18dffe9-598b-5758-89a9-713be910ee8f', '{"at":{"stamp":"0199c82cc000-00c4-8ed88f162593","value":"2026-11-25T17:30:00.000Z"},"dog":{"stamp":"0199c82cc000-00be-8ed88f162593","value":"8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7"},"grade":{"stamp":"0199c82cc000-00c2-8ed88f162593","value":"needs work"},"station":{"stamp":"0199c82cc000-00c0-8ed88f162593","value":"free_stack"}}', NULL, '8e521f4e-4da3-5978-a0d3-fcb2fa01fbf7', NULL, 'free_stack', 'needs work', NULL, '2026-11-25T17:30:00.000Z');


--
-- Data for Name: show; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.show VALUES ('c4146d3d-37f6-5413-b8e9-6c31c9ae2ba0', '{"body":{"stamp":"0199c82cc000-00c8-8ed88f162593","value":"KC"},"day":{"stamp":"0199c82cc000-00cc-8ed88f162593","value":"2026-12-08"},"level":{"stamp":"0199c82cc000-00ca-8ed88f162593","value":"open"},"name":{"stamp":"0199c82cc000-00c6-8ed88f162593","value":"Hollow Meadow Open Show"},"place":{"stamp":"0199c82cc000-00ce-8ed88f162593","value":"Hollow Meadow, the big barn"}}', NULL, 'Hollow Meadow Open Show', 'KC', 'open', '2026-12-08', NULL, 'Hollow Meadow, the big barn');
INSERT INTO public.show VALUES ('16b8c5d5-82b3-5eca-8203-9274900cbef3', '{"body":{"stamp":"0199c82cc000-00d2-8ed88f162593","value":"AKC"},"day":{"stamp":"0199c82cc000-00d6-8ed88f162593","value":"2026-12-22"},"level":{"stamp":"0199c82cc000-00d4-8ed88f162593","value":"championship"},"name":{"stamp":"0199c82cc000-00d0-8ed88f162593","value":"Old Quarry Kennel Club"},"place":{"stamp":"0199c82cc000-00d8-8ed88f162593","value":"Quarry Field"}}', NULL, 'Old Quarry Kennel Club', 'AKC', 'championship', '2026-12-22', NULL, 'Quarry Field');
INSERT INTO public.show VALUES ('01a221bd-e0f9-76ee-a834-f09fb348f3fd', '{"body":{"stamp":"019ac8798e84-0002-6dede2738880","value":"FCI"},"day":{"stamp":"019ac8798e84-0004-6dede2738880","value":"2026-12-05"},"name":{"stamp":"019ac8798e84-0000-6dede2738880","value":"At the desk"}}', NULL, 'At the desk', 'FCI', NULL, '2026-12-05', NULL, NULL);


--
-- Data for Name: tick; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: walk; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Name: attempt_id_seq; Type: SEQUENCE SET; Schema: public; Owner: -
--

SELECT pg_catalog.setval('public.attempt_id_seq', 1, false);


--
-- Name: change_seq_seq; Type: SEQUENCE SET; Schema: public; Owner: -
--

SELECT pg_catalog.setval('public.change_seq_seq', 186, true);


--
-- Name: contested_key_seq; Type: SEQUENCE SET; Schema: public; Owner: -
--

SELECT pg_catalog.setval('public.contested_key_seq', 1, true);


--
-- Name: ask ask_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.ask
    ADD CONSTRAINT ask_pkey PRIMARY KEY (id);


--
-- Name: attempt attempt_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.attempt
    ADD CONSTRAINT attempt_pkey PRIMARY KEY (id);


--
-- Name: award award_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.award
    ADD CONSTRAINT award_pkey PRIMARY KEY (id);


--
-- Name: change change_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.change
    ADD CONSTRAINT change_pkey PRIMARY KEY (seq);


--
-- Name: code code_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.code
    ADD CONSTRAINT code_pkey PRIMARY KEY (link);


--
-- Name: contested contested_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.contested
    ADD CONSTRAINT contested_pkey PRIMARY KEY (key);


--
-- Name: cue cue_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.cue
    ADD CONSTRAINT cue_pkey PRIMARY KEY (id);


--
-- Name: device device_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.device
    ADD CONSTRAINT device_pkey PRIMARY KEY (id);


--
-- Name: dog dog_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.dog
    ADD CONSTRAINT dog_pkey PRIMARY KEY (id);


--
-- Name: entry entry_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entry
    ADD CONSTRAINT entry_pkey PRIMARY KEY (id);


--
-- Name: gate gate_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.gate
    ADD CONSTRAINT gate_pkey PRIMARY KEY (id);


--
-- Name: kit kit_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_pkey PRIMARY KEY (id);


--
-- Name: measure measure_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.measure
    ADD CONSTRAINT measure_pkey PRIMARY KEY (id);


--
-- Name: meta meta_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.meta
    ADD CONSTRAINT meta_pkey PRIMARY KEY (key);


--
-- Name: note note_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.note
    ADD CONSTRAINT note_pkey PRIMARY KEY (id);


--
-- Name: own_order own_order_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.own_order
    ADD CONSTRAINT own_order_pkey PRIMARY KEY (id);


--
-- Name: practice practice_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.practice
    ADD CONSTRAINT practice_pkey PRIMARY KEY (id);


--
-- Name: show show_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.show
    ADD CONSTRAINT show_pkey PRIMARY KEY (id);


--
-- Name: tick tick_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.tick
    ADD CONSTRAINT tick_pkey PRIMARY KEY (id);


--
-- Name: walk walk_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.walk
    ADD CONSTRAINT walk_pkey PRIMARY KEY (id);


--
-- Name: attempt_address; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX attempt_address ON public.attempt USING btree (address);


--
-- Name: attempt_at; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX attempt_at ON public.attempt USING btree (at);


--
-- Name: change_id; Type: INDEX; Schema: public; Owner: -
--

CREATE UNIQUE INDEX change_id ON public.change USING btree (id);


--
-- Name: change_record_field; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX change_record_field ON public.change USING btree (record, field);


--
-- Name: change_stamp; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX change_stamp ON public.change USING btree (stamp);


--
-- Name: code_typed; Type: INDEX; Schema: public; Owner: -
--

CREATE UNIQUE INDEX code_typed ON public.code USING btree (typed);


--
-- Name: contested_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX contested_id ON public.contested USING btree (id);


--
-- PostgreSQL database dump complete
--


